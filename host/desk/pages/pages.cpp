#include "desk/pages/pages.hpp"

#include <fmt/format.h>

#include <chrono>

#include "club/results/results.hpp"
#include "desk/live/seen_json.hpp"
#include "desk/pages/frame.hpp"
#include "desk/pages/qr.hpp"
#include "desk/web/message.hpp"

namespace breakstep::desk {
namespace {

constexpr const char* replay_dialog =
    "<dialog id=\"replay\" aria-labelledby=\"replay-title\"><form method=\"dialog\"><h2 id=\"replay-title\"></h2>"
    "<p id=\"replay-line\" class=\"quiet\"></p><div id=\"replay-picture\"></div>"
    "<label for=\"replay-at\">Moment <span id=\"replay-time\" class=\"quiet\"></span></label>"
    "<input id=\"replay-at\" type=\"range\"><p id=\"replay-phase\"></p>"
    "<div class=\"buttons\"><button type=\"button\" id=\"replay-before\">Before</button>"
    "<button type=\"button\" id=\"replay-slow\">Play slowly</button><button type=\"button\" id=\"replay-real\">As "
    "it was</button>"
    "<button type=\"button\" id=\"replay-after\">After</button></div><button "
    "class=\"thumb\">Close</button></form></dialog>";

std::string minutes_words(DeskTime time) {
    const auto minutes = std::chrono::ceil<std::chrono::minutes>(time).count();
    return minutes == 1 ? "a minute" : fmt::format("{} minutes", minutes);
}

}  // namespace

std::string pair_page(const PairSeen& seen) {
    std::string about =
        seen.pause > DeskTime{} ? "Five wrong tries: wait a minute, then ask for new digits at the laptop."
        : !seen.digits_are_good
            ? "No digits are good now: ask for new ones at the laptop."
            : fmt::format("{} {} left, then a minute's pause", seen.tries_left, seen.tries_left == 1 ? "try" : "tries");
    return head("Pair this phone", "", {}) +
           fmt::format(
               "<body class=\"pairing\"><main id=\"main\"><header><p class=\"program\">breakstep</p>"
               "<p class=\"quiet\">at {}</p></header><h1>Type the six digits</h1>"
               "<p class=\"quiet\" id=\"where\">They stand on the coach's laptop.</p>{}"
               "<form method=\"post\" action=\"/pair\"><label class=\"quiet\" for=\"code\">Digits</label>"
               "<input id=\"code\" name=\"code\" inputmode=\"numeric\" autocomplete=\"one-time-code\" maxlength=\"7\" "
               "required aria-describedby=\"where about\" autofocus><p class=\"quiet\" id=\"about\">{}</p>"
               "<fieldset><legend>How should this phone take part?</legend>"
               "<label class=\"choice\"><input type=\"radio\" name=\"role\" value=\"command\" checked><span><b>In "
               "command"
               "</b><small>starts, pauses, voids; one phone at a time</small></span></label>"
               "<label class=\"choice\"><input type=\"radio\" name=\"role\" value=\"watch\"><span><b>Watching</b>"
               "<small>sees reps and the plan, changes nothing</small></span></label></fieldset>"
               "<p class=\"quiet\">Before pairing this phone sees no name and no result. It is forgotten when the "
               "evening closes.</p><button class=\"thumb main\">Pair</button></form>",
               html(seen.club),
               seen.said.empty() ? "" : fmt::format("<p class=\"wrong\" role=\"alert\">{}</p>", html(seen.said)),
               about) +
           bottom;
}

std::string evening_page(const Frame& frame, const std::vector<DrillSeen>& drills) {
    std::string text =
        top(frame, "The evening", "/", {"desk.js", "live.js", "evening.js", "partner_next.js", "replay.js"});
    text +=
        "<h1 class=\"unseen\">The evening</h1>"
        "<p id=\"line\" class=\"line\"><span id=\"live\" class=\"dot\" aria-hidden=\"true\"></span>"
        "<span id=\"live-words\">connecting</span> <a id=\"rig-words\" href=\"/rig\">the rig</a></p>"
        "<p id=\"answer\" class=\"answer\" role=\"status\" aria-live=\"polite\"></p>"
        "<div class=\"columns\">"
        "<section id=\"rig\" class=\"rig\" aria-labelledby=\"rig-title\"><h2 id=\"rig-title\" class=\"quiet\">At the "
        "rig</h2>"
        "<p class=\"who\"><b id=\"who\">Nobody</b> <span id=\"count\" class=\"quiet\"></span></p>"
        "<p id=\"task\" class=\"quiet\"></p>"
        "<div id=\"last\" class=\"last\" aria-live=\"polite\" aria-atomic=\"true\"></div>"
        "<div class=\"buttons command\">"
        "<button class=\"thumb\" id=\"void\" data-ask=\"void_last\">Void last</button>"
        "<button class=\"thumb\" data-ask=\"someone_else\" data-pick=\"Whose set is it?\">Someone else's</button>"
        "<button class=\"thumb\" id=\"pause\" data-ask=\"pause\">Pause</button>"
        "<button class=\"thumb\" data-ask=\"note\" data-type=\"Note\">Note</button></div>"
        "<ol id=\"reps\" class=\"reps\" aria-label=\"Reps, the last one first\"></ol>"
        "<div id=\"signs\" class=\"signs\" role=\"group\" aria-label=\"What is read of the athlete\" hidden></div>"
        "<div id=\"partner\" role=\"group\" aria-labelledby=\"partner-title\" hidden><h3 id=\"partner-title\"></h3>"
        "<p id=\"partner-cue\" class=\"cue\"></p><p id=\"partner-list\" class=\"quiet\"></p>"
        "<div id=\"kinds\" class=\"kinds command\"></div>"
        "<div class=\"buttons command\"><button id=\"listed\" aria-pressed=\"false\">A list</button>"
        "<button id=\"planned\">As planned</button></div>"
        "<p class=\"quiet\">The athlete must not see this. <a href=\"/partner\">The partner's own screen</a></p></div>"
        "<div id=\"felt\" role=\"group\" aria-labelledby=\"felt-title\" hidden><p id=\"felt-title\"></p>"
        "<div class=\"buttons\"><button data-felt=\"yes\">yes</button><button data-felt=\"a little\">a little</button>"
        "<button data-felt=\"no\">no</button><button data-felt=\"\">not asked</button></div></div>"
        "<div class=\"buttons command\">"
        "<button data-ask=\"tap\">Call the attack</button>"
        "<button data-ask=\"repeat\">One more set</button>"
        "<button data-ask=\"sore\">Sore</button>"
        "<button data-ask=\"skip\">Skip</button></div></section>"
        "<section class=\"turns\" aria-labelledby=\"turns-title\"><h2 id=\"turns-title\">Next <span id=\"round\" "
        "class=\"quiet\"></span></h2>"
        "<ol id=\"turns\" class=\"rows\"></ol><p id=\"gates\" class=\"gates\"></p>"
        "<h3>Passed over, sore or away</h3><ul id=\"aside\" class=\"rows\"></ul></section>"
        "<section class=\"plan\" aria-labelledby=\"plan-title\"><h2 id=\"plan-title\">The evening <span id=\"left\" "
        "class=\"quiet\"></span></h2>"
        "<ol id=\"blocks\" class=\"blocks\"></ol><p id=\"fit\" class=\"quiet\"></p>"
        "<div class=\"buttons command\"><button data-ask=\"next\" data-sure=\"End this block now?\">Next block</button>"
        "<button data-ask=\"end\" data-sure=\"End the evening?\">End the evening</button></div></section>"
        "<section class=\"here\" aria-labelledby=\"here-title\"><h2 id=\"here-title\">Here <span id=\"here-count\" "
        "class=\"quiet\"></span></h2>"
        "<ul id=\"here\" class=\"rows\"></ul>"
        "<form id=\"comes\" class=\"command\"><label for=\"comes-name\">Somebody comes</label>"
        "<span class=\"pair\"><input id=\"comes-name\" maxlength=\"60\" autocomplete=\"off\" placeholder=\"call-sign\" "
        "required>"
        "<button>Comes</button></span></form></section></div>"
        "<dialog id=\"pick\" aria-labelledby=\"pick-title\"><form method=\"dialog\"><h2 id=\"pick-title\"></h2>"
        "<div id=\"pick-list\" class=\"buttons\"></div><button value=\"\" class=\"thumb\">Not "
        "now</button></form></dialog>"
        "<dialog id=\"type\" aria-labelledby=\"type-title\"><form id=\"type-form\"><h2 id=\"type-title\"></h2>"
        "<label for=\"type-text\" class=\"quiet\">In your words</label><input id=\"type-text\" maxlength=\"180\" "
        "autocomplete=\"off\">"
        "<div class=\"buttons\"><button class=\"thumb main\">Keep</button><button type=\"button\" class=\"thumb\" "
        "id=\"type-no\">Not now</button></div></form></dialog>"
        "<dialog id=\"sure\" aria-labelledby=\"sure-title\"><form method=\"dialog\"><h2 id=\"sure-title\"></h2>"
        "<div class=\"buttons\"><button value=\"yes\" class=\"thumb main\">Yes</button><button value=\"\" "
        "class=\"thumb\">No</button></div></form></dialog>";
    text += replay_dialog;
    text += "<datalist id=\"drills\">";
    for (const DrillSeen& each : drills)
        text += fmt::format("<option value=\"{}\">{}</option>", html(each.name), html(each.title));
    return text + "</datalist>" + bottom;
}

std::string home_page(const Frame& frame) {
    return top(frame, "The desk", "/", {"desk.js"}) +
           "<h1>No evening runs here</h1><p>Start one with <code>breakstep evening --desk</code>: the turns, the reps "
           "and "
           "what you ask for stand here then.</p><p>All else is here: <a href=\"/video\">a video, tapped</a>, "
           "<a href=\"/athletes\">the athletes</a> and their pages, <a href=\"/drills\">the drills</a>, "
           "<a href=\"/progress\">how the term goes</a>, <a href=\"/sessions\">sessions and their reps</a>, "
           "<a href=\"/rig\">the rig and what was calibrated</a>.</p>" +
           bottom;
}

std::string video_page(const Frame& frame, const std::vector<AthleteSeen>& athletes) {
    std::string whose = "<option value=\"\">choose an athlete</option>";
    for (const AthleteSeen& each : athletes)
        if (each.has_page)
            whose += fmt::format("<option value=\"{}\">{}</option>", id_text(static_cast<std::uint64_t>(each.athlete)),
                                 html(each.call_sign));
    return top(frame, "Video", "/video", {"desk.js", "video.js"}) +
           "<h1>Video <span class=\"quiet\">No rig needed. The video stays on this computer.</span></h1>"
           "<div class=\"columns video\"><section aria-label=\"The video and your taps\">"
           "<label for=\"file\">A video of sparring, from this computer</label><input id=\"file\" type=\"file\" "
           "accept=\"video/*\">"
           "<video id=\"video\" controls preload=\"metadata\" aria-label=\"Your video\"></video>"
           "<svg id=\"bars\" role=\"img\" aria-label=\"Your taps: each bar is one step in\" viewBox=\"0 0 1000 60\" "
           "preserveAspectRatio=\"none\"></svg>"
           "<p class=\"quiet\">your taps: each bar is one step in. <span id=\"taps-count\" role=\"status\"></span></p>"
           "<div class=\"buttons\"><button id=\"tap\" class=\"main\">Tap (space bar)</button><button id=\"undo\">Undo "
           "tap</button>"
           "<button id=\"play\">Play</button><button id=\"frame\">One frame</button><button id=\"half\" "
           "aria-pressed=\"false\">Half speed</button></div>"
           "<p>Tap when the front foot comes in. Watch one of them only, leave the other one out.</p>"
           "<p class=\"quiet\">A tapping hand errs by about 0.05 s: tap at half speed, and twice for what "
           "matters.</p></section>"
           "<section aria-labelledby=\"answer-title\"><h2 id=\"answer-title\" class=\"quiet\">Can the first one be "
           "timed?</h2>"
           "<p id=\"answer-word\" class=\"word\" role=\"status\">tap first</p><svg id=\"cells\" class=\"cells\" "
           "aria-hidden=\"true\" viewBox=\"0 0 1000 70\"></svg>"
           "<p id=\"cells-words\"></p><pre id=\"answer-words\" class=\"words\" tabindex=\"0\" aria-label=\"The answer "
           "in words\"></pre>"
           "<fieldset><legend>Whose step-ins do you tap?</legend>"
           "<label class=\"choice\"><input type=\"radio\" name=\"whose\" value=\"a\" checked><span>the first "
           "one</span></label>"
           "<label class=\"choice\"><input type=\"radio\" name=\"whose\" value=\"b\"><span>the other one: then it says "
           "who leads</span></label></fieldset>"
           "<h2 class=\"quiet\">Who leads?</h2><p id=\"leads-words\" role=\"status\">Tap both.</p>"
           "<div class=\"buttons\"><button id=\"keep\">Save the times</button><button id=\"clear\">Begin "
           "anew</button></div>"
           "<div class=\"command\"><label for=\"of\">Keep them with an athlete: whose step-ins are the first "
           "one's?</label>"
           "<span class=\"pair\"><select id=\"of\">" +
           whose +
           "</select><button id=\"keep-of\">Keep</button></span></div>"
           "<p id=\"kept\" role=\"status\"></p>"
           "<p class=\"quiet\">Saved are the times of the taps, not the video: a list as <code>breakstep "
           "timeable</code> and "
           "<code>breakstep leads</code> read it.</p></section></div>" +
           bottom;
}

std::string athletes_page(const Frame& frame, const std::vector<AthleteSeen>& athletes) {
    std::string text =
        top(frame, "Athletes", "/athletes", {"desk.js"}) +
        "<h1>Athletes</h1><div class=\"wide\" tabindex=\"0\" role=\"region\" "
        "aria-label=\"Athletes\"><table><thead><tr><th scope=\"col\">Call-sign</th>"
        "<th scope=\"col\">Group</th><th scope=\"col\">Results</th><th scope=\"col\">Page</th></tr></thead><tbody>";
    for (const AthleteSeen& each : athletes) {
        const std::string id = id_text(static_cast<std::uint64_t>(each.athlete));
        text += fmt::format(
            "<tr><th scope=\"row\"><a href=\"/athlete?id={}\">{}</a></th><td>{}</td><td>{}</td><td>{}</td></tr>", id,
            html(each.call_sign), html(each.group), html(each.kept),
            each.has_page ? fmt::format("<a href=\"/page.svg?athlete={}\">page of {}</a>", id, html(each.call_sign))
                          : std::string("none"));
    }
    return text + "</tbody></table></div>" + (athletes.empty() ? "<p>Nobody is listed yet.</p>" : "") +
           "<p><a href=\"/sessions\">Sessions and their reps</a></p>" + bottom;
}

std::string drills_page(const Frame& frame, const std::vector<DrillSeen>& drills) {
    std::string text = top(frame, "Drills", "/drills", {"desk.js"}) + "<h1>Drills</h1><ul class=\"rows\">";
    for (const DrillSeen& each : drills)
        text += fmt::format("<li><a class=\"row\" href=\"/drill?name={}\">{}</a></li>", html(each.name),
                            html(each.title.empty() ? each.name : each.title));
    return text + "</ul>" + bottom;
}

std::string drill_page(const Frame& frame, const std::string& name, const std::string& drill) {
    return top(frame, name, "/drills", {"desk.js", "pages.js"}) +
           fmt::format(
               "<h1>{}</h1><form id=\"drill\" data-name=\"{}\"><label for=\"drill-text\">The drill's file. Change it, "
               "have it checked, "
               "and save it beside your own drills.</label>"
               "<textarea id=\"drill-text\" rows=\"24\" spellcheck=\"false\">\n{}</textarea>"
               "<div class=\"buttons\"><button class=\"main\">Check it</button>"
               "<button type=\"button\" id=\"drill-save\">Save as a file</button></div></form>"
               "<pre id=\"drill-said\" class=\"words\" role=\"status\"></pre>",
               html(name), html(name), html(drill)) +
           bottom;
}

std::string sessions_page(const Frame& frame, const std::vector<SessionSeen>& sessions, const std::string& agreement) {
    std::string text = top(frame, "Sessions", "", {"desk.js"}) + "<h1>Sessions</h1>";
    if (!agreement.empty()) text += fmt::format("<p>{}</p>", html(agreement));
    text += "<ul class=\"rows\">";
    for (const SessionSeen& each : sessions)
        text += fmt::format("<li><a class=\"row\" href=\"/session?id={}\">{} {}<small>{}, {} reps</small></a></li>",
                            id_text(static_cast<std::uint64_t>(each.session)), html(each.day), html(each.call_sign),
                            html(each.drill), each.reps);
    return text + "</ul>" + (sessions.empty() ? "<p>Nothing is kept yet.</p>" : "") + bottom;
}

std::string session_page(const Frame& frame, const SessionSeen& session, const std::vector<RepSeen>& reps) {
    std::string text = top(frame, session.call_sign, "", {"desk.js", "replay.js", "session.js"}) +
                       fmt::format("<h1>{} <span class=\"quiet\">{}, {}</span></h1>", html(session.call_sign),
                                   html(session.drill), html(session.day));
    const std::string id = id_text(static_cast<std::uint64_t>(session.session));
    std::int32_t set = -1;
    for (const RepSeen& each : reps) {
        const RepResult& rep = each.result;
        if (rep.set != set) {
            text += fmt::format("{}<h2>Set {}</h2><ol class=\"reps past\">", set < 0 ? "" : "</ol>", rep.set + 1);
            set = rep.set;
        }
        text += fmt::format(
            "<li data-verdict=\"{0}\"><span class=\"number\">{1}</span><span class=\"grow\">{2}</span>"
            "<button class=\"small\" data-session=\"{3}\" data-rep=\"{4}\" data-number=\"{1}\" aria-label=\"Replay rep "
            "{1} of set {5}\">replay</button></li>",
            html(word(rep.verdict)), rep.catch_trial ? std::string() : std::to_string(rep.number),
            html(words_of_verdict(rep)), id, static_cast<std::int32_t>(rep.rep), rep.set + 1);
    }
    return text + (set < 0 ? "<p>No rep was made.</p>" : "</ol>") + replay_dialog + bottom;
}

std::string words_page(const Frame& frame, const std::string& title, const std::string& words) {
    return top(frame, title, title == "Progress" ? "/progress" : "", {"desk.js"}) +
           fmt::format("<h1>{}</h1><pre class=\"words\" tabindex=\"0\" aria-label=\"{}\">{}</pre>", html(title),
                       html(title), html(words)) +
           bottom;
}

std::string phones_page(const Frame& frame, const PhonesSeen& seen) {
    std::string text = top(frame, "Phones", "/phones", {"desk.js", "pages.js"}) + "<h1>Pair a phone</h1>";
    if (!seen.hall) text += "<p>This desk is open on this computer alone. A phone needs <code>--hall</code>.</p>";
    text += "<div class=\"columns pairing-columns\">";
    if (const auto picture = qr_svg(seen.address); picture && seen.hall) text += *picture;
    text += fmt::format("<ol class=\"steps\"><li>Join the hall's own network</li><li>Scan, or type <b>{}</b></li>",
                        html(seen.address));
    if (!seen.fingerprint.empty())
        text += fmt::format("<li>The phone asks about the certificate; its SHA-256 is <b class=\"print\">{}</b></li>",
                            html(seen.fingerprint));
    text += "<li>Type these digits ";
    text += seen.digits.empty()
                ? "<b>(none are good now)</b>"
                : fmt::format("<b class=\"digits\">{} {}</b> <span class=\"quiet\">good once, for {} more</span>",
                              seen.digits.substr(0, 3), seen.digits.substr(3), minutes_words(seen.good_still));
    text += "</li></ol></div><div class=\"buttons\">";
    if (frame.commands) text += "<button id=\"more-digits\">New digits</button>";
    if (!frame.commands && seen.from_here) text += "<button id=\"take-command\">Command from this computer</button>";
    text +=
        "<button id=\"forget\">Forget this one</button></div><p id=\"phones-said\" "
        "role=\"status\"></p><h2>Paired</h2><ul class=\"rows\">";
    for (const Phone& each : seen.phones)
        text += fmt::format("<li class=\"row\">phone {} {}{}</li>", each.number, each.commands ? "commands" : "watches",
                            each.number == seen.own ? ", this one" : "");
    return text + "</ul><p class=\"quiet\">The digits never stand on the stage.</p>" + bottom;
}

}  // namespace breakstep::desk
