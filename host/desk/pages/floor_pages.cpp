// Pages of the floor: what the partner sees, the rig, what is asked before an evening, an athlete's own.
#include <fmt/format.h>

#include "desk/live/seen_json.hpp"
#include "desk/pages/frame.hpp"
#include "desk/web/message.hpp"

namespace breakstep::desk {

std::string partner_page(const Frame& frame) {
    return top(frame, "The partner", "", {"desk.js", "live.js", "partner.js"}) +
           "<h1 class=\"unseen\">The partner's screen</h1>"
           "<p class=\"line\"><span id=\"live\" class=\"dot\" aria-hidden=\"true\"></span><span "
           "id=\"live-words\">connecting</span></p>"
           "<section class=\"partner-screen\" aria-labelledby=\"partner-who\"><h2 id=\"partner-who\" "
           "class=\"quiet\">Nobody kicks now</h2>"
           "<p id=\"partner-what\" class=\"huge\" role=\"status\" aria-live=\"assertive\"></p>"
           "<p id=\"partner-side\" class=\"quiet\"></p></section>"
           "<p class=\"quiet\">Where the partner sees it and the athlete does not. Kick when the words come; until "
           "then "
           "stand still.</p>" +
           bottom;
}

std::string rig_page(const Frame& frame, const std::vector<CalibrationSeen>& calibrations, bool can_calibrate) {
    std::string text = top(frame, "The rig", "", {"desk.js", "live.js", "rig.js", "questions.js"}) + "<h1>The rig</h1>";
    if (frame.evening)
        text +=
            "<p class=\"line\"><span id=\"live\" class=\"dot\" aria-hidden=\"true\"></span><span "
            "id=\"live-words\">connecting</span></p><p id=\"rig-says\" role=\"status\"></p>"
            "<div class=\"wide\" tabindex=\"0\" role=\"region\" aria-label=\"Its parts\"><table><thead><tr><th "
            "scope=\"col\">Part</th><th scope=\"col\">Now</th></tr></thead><tbody id=\"parts\"></tbody></table></div>"
            "<h2>Noticed</h2><ul id=\"notices\" class=\"rows\"></ul>";
    text += "<h2>Calibrated</h2><ul class=\"rows\">";
    for (const CalibrationSeen& each : calibrations)
        text +=
            fmt::format("<li><span class=\"grow\">{}<small>{}</small></span></li>", html(each.what), html(each.words));
    text += "</ul><p class=\"quiet\">Lamps and gates need none: the rig stamps them itself.</p>";
    if (can_calibrate)
        text += fmt::format(
            "<div class=\"buttons command\"><button id=\"calibrate\" class=\"main\">Calibrate</button></div>"
            "<p id=\"rig-said\" role=\"status\"></p>{}",
            questions_part);
    else if (frame.evening)
        text += "<p class=\"quiet\">A calibration needs the rig for itself: before or after the evening.</p>";
    return text + bottom;
}

std::string before_page(const Frame& frame) {
    return top(frame, "Before the evening", "/", {"desk.js", "questions.js"}) + "<h1>Before the evening</h1>" +
           questions_part + bottom;
}

std::string athlete_page(const Frame& frame, const AthleteSeen& athlete, const std::vector<TapsKept>& kept,
                         const std::vector<TapAnswer>& answers) {
    const std::string id = id_text(static_cast<std::uint64_t>(athlete.athlete));
    std::string text = top(frame, athlete.call_sign, "/athletes", {"desk.js"}) +
                       fmt::format("<h1>{} <span class=\"quiet\">{}{}{}</span></h1>", html(athlete.call_sign),
                                   html(athlete.group), athlete.group.empty() ? "" : "; ", html(athlete.kept));
    if (athlete.has_page)
        text += fmt::format("<p><a href=\"/page.svg?athlete={}\">page of {}</a></p>", id, html(athlete.call_sign));
    text += "<h2>Videos, tapped</h2>";
    if (kept.empty()) text += "<p>None are kept.</p>";
    for (std::size_t i = 0; i < kept.size() && i < answers.size(); ++i) {
        const TapsKept& each = kept[i];
        text += fmt::format(
            "<h3>{}: {} step-ins{}</h3><p><a href=\"/video?athlete={}&amp;number={}\">the taps again</a></p>"
            "<pre class=\"words\" tabindex=\"0\" aria-label=\"What {} taps say, of {}\">{}</pre>",
            html(each.day), each.a.size(),
            each.b.empty() ? std::string() : fmt::format(", {} of the other one", each.b.size()), id, i + 1,
            each.a.size() + each.b.size(), html(each.day), html(answers[i].words));
    }
    return text + bottom;
}

}  // namespace breakstep::desk
