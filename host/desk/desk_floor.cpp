// What the pages of the floor ask and are told: the partner's screen, the rig, questions, taps that are kept.
#include <algorithm>
#include <charconv>

#include "desk/answers.hpp"
#include "desk/desk.hpp"
#include "desk/pages/pages.hpp"

namespace breakstep::desk {
WebResponse Desk::partner_page(const Caller& caller) {
    return page(desk::partner_page(frame_of(house_, *caller.phone, caller.form_token)));
}

WebResponse Desk::rig_page(const Caller& caller) {
    const Frame frame = frame_of(house_, *caller.phone, caller.form_token);
    std::vector<CalibrationSeen> known;
    if (house_.calibrations) {
        auto read = house_.calibrations();
        if (read)
            known = std::move(*read);
        else
            known.push_back({"What was calibrated can't be read", read.error().text()});
    }
    return page(desk::rig_page(frame, known, static_cast<bool>(house_.calibrate)));
}

std::optional<AthleteSeen> Desk::athlete_asked(const Caller& caller, const char* name) const {
    const auto wanted = caller.target.query.find(name);
    const auto id = wanted == caller.target.query.end() ? std::nullopt : id_in(wanted->second);
    if (!id || !house_.athletes) return std::nullopt;
    const auto athletes = house_.athletes();
    if (!athletes) return std::nullopt;
    const auto own = std::find_if(athletes->begin(), athletes->end(),
                                  [&](const AthleteSeen& each) { return each.athlete == AthleteId{*id}; });
    return own == athletes->end() ? std::nullopt : std::optional(*own);
}

WebResponse Desk::athlete_page(const Caller& caller) {
    const auto athlete = athlete_asked(caller, "id");
    if (!athlete) return told(404, "There is no such athlete.");
    const Frame frame = frame_of(house_, *caller.phone, caller.form_token);
    std::vector<TapsKept> kept;
    if (house_.taps_of && athlete->has_page) {
        auto read = house_.taps_of(athlete->athlete);
        if (!read) return page(words_page(frame, athlete->call_sign, read.error().text()));
        kept = std::move(*read);
    }
    std::vector<TapAnswer> answers;
    for (const TapsKept& each : kept) {
        TapAnswer answer;
        if (house_.timeable) {
            auto said = house_.timeable(time_list(each.a));
            answer.words = said ? said->words : said.error().text();
        }
        if (house_.leads && !each.b.empty())
            if (const auto said = house_.leads(leads_list({each.a, each.b}))) answer.words += "\n" + said->words;
        answers.push_back(std::move(answer));
    }
    return page(desk::athlete_page(frame, *athlete, kept, answers));
}

// Kept ones, to be put beside a video again.
WebResponse Desk::taps(const Caller& caller) {
    const auto athlete = athlete_asked(caller, "athlete");
    const auto number = caller.target.query.find("number");
    if (!athlete || !athlete->has_page || !house_.taps_of || number == caller.target.query.end())
        return told(404, "There are no such taps.");
    std::size_t wanted = 0;
    const std::string& text = number->second;
    const auto read = std::from_chars(text.data(), text.data() + text.size(), wanted);
    const auto kept = house_.taps_of(athlete->athlete);
    if (read.ec != std::errc{} || read.ptr != text.data() + text.size() || !kept || wanted < 1 || wanted > kept->size())
        return told(404, "There are no such taps.");
    return json(taps_json((*kept)[wanted - 1]));
}

void Desk::keep_taps(const Caller& caller, const Answered& answered) {
    auto taps = taps_for_in(caller.request.body);
    if (!taps) return answered(wrong(taps.error()));
    if (!house_.keep_taps) return answered(not_here());
    if (taps->taps.a.empty()) return answered(json(said_json("refused: nothing was tapped of the first one")));
    const auto kept = house_.keep_taps(taps->athlete, {"", std::move(taps->taps.a), std::move(taps->taps.b)});
    answered(kept ? json(said_json("kept: the times alone, not the video")) : wrong(kept.error()));
}

WebResponse Desk::questions(const Caller&) {
    if (house_.questions == nullptr) return told(404, "Nothing is asked here.");
    return json(questions_json(house_.questions->seen(), evening_runs()));
}

void Desk::line(const Caller& caller, const Answered& answered) {
    const auto given = line_in(caller.request.body);
    if (!given) return answered(wrong(given.error()));
    if (house_.questions == nullptr) return answered(not_here());
    const bool taken = house_.questions->answer(given->number, given->line);
    answered(json(said_json(taken ? "taken" : "too late: that is not asked any more")));
}

void Desk::calibrate(const Caller&, const Answered& answered) {
    if (!house_.calibrate || evening_runs()) return answered(not_here());
    answered(json(said_json(house_.calibrate())));
}

}  // namespace breakstep::desk
