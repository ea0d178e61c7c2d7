// What the desk's pages show, and what is done when they ask: behind the gate (desk.cpp).
#include <algorithm>

#include "desk/answers.hpp"
#include "desk/desk.hpp"
#include "desk/pages/pages.hpp"

namespace breakstep::desk {

// ---- pages ----------------------------------------------------------------------------------------------------------

WebResponse Desk::evening_page(const Caller& caller) {
    const Frame frame = frame_of(house_, *caller.phone, caller.form_token);
    if (!evening_runs()) {
        const bool asks = house_.view && house_.questions != nullptr;  // an evening's desk, before it begins
        return page(asks ? before_page(frame) : home_page(frame));
    }
    return page(desk::evening_page(frame, house_.drills));
}

WebResponse Desk::video_page(const Caller& caller) {
    const auto athletes = house_.athletes && house_.keep_taps ? house_.athletes() : std::vector<AthleteSeen>{};
    return page(desk::video_page(frame_of(house_, *caller.phone, caller.form_token),
                                 athletes.value_or(std::vector<AthleteSeen>{})));
}

WebResponse Desk::athletes_page(const Caller& caller) {
    const Frame frame = frame_of(house_, *caller.phone, caller.form_token);
    if (!house_.athletes) return page(words_page(frame, "Athletes", "No store stands behind this desk."));
    const auto athletes = house_.athletes();
    return page(athletes ? desk::athletes_page(frame, *athletes)
                         : words_page(frame, "Athletes", athletes.error().text()));
}

WebResponse Desk::drills_page(const Caller& caller) {
    return page(desk::drills_page(frame_of(house_, *caller.phone, caller.form_token), house_.drills));
}

WebResponse Desk::drill_page(const Caller& caller) {
    const Frame frame = frame_of(house_, *caller.phone, caller.form_token);
    const auto name = caller.target.query.find("name");
    const bool known = name != caller.target.query.end() &&
                       std::any_of(house_.drills.begin(), house_.drills.end(),
                                   [&](const DrillSeen& each) { return each.name == name->second; });
    if (!known || !house_.drill_text) return told(404, "There is no such drill.");
    const auto text = house_.drill_text(name->second);
    return page(text ? desk::drill_page(frame, name->second, *text)
                     : words_page(frame, name->second, text.error().text()));
}

WebResponse Desk::progress_page(const Caller& caller) {
    const Frame frame = frame_of(house_, *caller.phone, caller.form_token);
    if (!house_.progress) return page(words_page(frame, "Progress", "No store stands behind this desk."));
    const auto words = house_.progress();
    return page(words_page(frame, "Progress", words ? *words : words.error().text()));
}

WebResponse Desk::sessions_page(const Caller& caller) {
    const Frame frame = frame_of(house_, *caller.phone, caller.form_token);
    if (!house_.sessions) return page(words_page(frame, "Sessions", "No store stands behind this desk."));
    const auto sessions = house_.sessions();
    if (!sessions) return page(words_page(frame, "Sessions", sessions.error().text()));
    std::string agreement;
    if (house_.agreement)
        if (const auto words = house_.agreement()) agreement = *words;
    return page(desk::sessions_page(frame, *sessions, agreement));
}

WebResponse Desk::session_page(const Caller& caller) {
    const Frame frame = frame_of(house_, *caller.phone, caller.form_token);
    const auto wanted = caller.target.query.find("id");
    const auto id = wanted == caller.target.query.end() ? std::nullopt : id_in(wanted->second);
    if (!id || !house_.session_reps || !house_.sessions) return told(404, "There is no such session.");
    const auto reps = house_.session_reps(SessionId{*id});
    const auto sessions = house_.sessions();
    if (!reps || !sessions) return told(404, "There is no such session.");
    const auto own = std::find_if(sessions->begin(), sessions->end(),
                                  [&](const SessionSeen& each) { return each.session == SessionId{*id}; });
    if (own == sessions->end()) return told(404, "There is no such session.");
    return page(desk::session_page(frame, *own, *reps));
}

WebResponse Desk::page_picture(const Caller& caller) {
    const auto wanted = caller.target.query.find("athlete");
    const auto id = wanted == caller.target.query.end() ? std::nullopt : id_in(wanted->second);
    if (!id || !house_.page) return told(404, "There is no such page.");
    auto svg = house_.page(AthleteId{*id});
    if (!svg) return told(status_of(svg.error()), svg.error().text());
    return {200, "image/svg+xml", std::move(*svg)};
}

WebResponse Desk::phones_page(const Caller& caller) {
    const Frame frame = frame_of(house_, *caller.phone, caller.form_token);
    const DeskTime now = clocks_.steady();
    PhonesSeen seen{phones_.all(), caller.phone->number,    place_.address, place_.fingerprint, "", {},
                    place_.hall,   caller.request.from_here};
    // The digits are for the one that commands; whoever watches asks there.
    if (caller.phone->commands) {
        seen.digits = code_.digits(now).value_or("");
        seen.good_still = code_.good_still(now);
    }
    return page(desk::phones_page(frame, seen));
}

WebResponse Desk::replay(const Caller& caller) {
    const auto& query = caller.target.query;
    const auto session = query.find("session"), rep = query.find("rep");
    const auto id = session == query.end() ? std::nullopt : id_in(session->second);
    if (!id || rep == query.end() || rep->second.empty() || rep->second.size() > 6 ||
        !std::all_of(rep->second.begin(), rep->second.end(), [](char c) { return c >= '0' && c <= '9'; }))
        return told(400, "There is no such rep.");
    const RepId wanted{std::stoi(rep->second)};
    if (const RepSeen* seen = feed_.find(SessionId{*id}, wanted)) return json(replay_json(*seen));
    // One of before.
    if (house_.session_reps)
        if (const auto reps = house_.session_reps(SessionId{*id}))
            for (const RepSeen& each : *reps)
                if (each.result.rep == wanted) return json(replay_json(each));
    return told(404, "There is no such rep.");
}

// ---- requests -------------------------------------------------------------------------------------------------------

void Desk::ask(const Caller& caller, const Answered& answered) {
    if (!house_.ask) return answered(not_here());
    auto request = request_in(caller.request.body);
    if (!request) return answered(wrong(request.error()));
    house_.ask(std::move(*request), [answered](const evening::Answer& answer) { answered(json(json_of(answer))); });
}

void Desk::comes(const Caller& caller, const Answered& answered) {
    if (!house_.comes) return answered(not_here());
    auto who = comes_in(caller.request.body);
    if (!who) return answered(wrong(who.error()));
    house_.comes(std::move(who->call_sign), who->sure,
                 [answered](const std::string& words) { answered(json(said_json(words))); });
}

void Desk::leaves(const Caller& caller, const Answered& answered) {
    if (!house_.leaves) return answered(not_here());
    const auto athlete = athlete_in(caller.request.body);
    if (!athlete) return answered(wrong(athlete.error()));
    const auto& view = feed_.view();
    const bool known = view && std::any_of(view->people.begin(), view->people.end(),
                                           [&](const PersonSeen& each) { return each.athlete == *athlete; });
    if (!known) return answered(json(said_json("refused: no such athlete is here")));
    house_.leaves(*athlete);
    answered(json(said_json("taken")));
}

void Desk::timeable(const Caller& caller, const Answered& answered) {
    const auto taps = taps_in(caller.request.body);
    if (!taps) return answered(wrong(taps.error()));
    if (!house_.timeable) return answered(not_here());
    const auto told_it = house_.timeable(time_list(taps->a));
    answered(told_it ? json(said_json(told_it->words, told_it->json)) : wrong(told_it.error()));
}

void Desk::leads(const Caller& caller, const Answered& answered) {
    const auto taps = taps_in(caller.request.body);
    if (!taps) return answered(wrong(taps.error()));
    if (!house_.leads) return answered(not_here());
    const auto told_it = house_.leads(leads_list(*taps));
    answered(told_it ? json(said_json(told_it->words, told_it->json)) : wrong(told_it.error()));
}

void Desk::felt(const Caller& caller, const Answered& answered) {
    const auto felt = felt_in(caller.request.body);
    if (!felt) return answered(wrong(felt.error()));
    if (!house_.felt) return answered(not_here());
    const auto kept = house_.felt(*felt);
    answered(kept ? json(said_json("kept")) : wrong(kept.error()));
}

void Desk::check_drill(const Caller& caller, const Answered& answered) {
    const auto text = text_in(caller.request.body);
    if (!text) return answered(wrong(text.error()));
    if (!house_.check_drill) return answered(not_here());
    const auto said = house_.check_drill(*text);
    answered(said ? json(said_json(*said)) : json(said_json(said.error().text())));
}

// The laptop overrides: a browser on this very computer takes command.
void Desk::take_command(const Caller& caller, const Answered& answered) {
    if (!caller.request.from_here && !caller.phone->commands) {
        ++refused_.command;
        return answered(json(said_json("refused: command passes at the laptop only"), 403));
    }
    phones_.give_command(std::string(caller.phone->digest));
    phones_changed();
    answered(json(said_json("this one commands now")));
}

void Desk::forget_me(const Caller& caller, const Answered& answered) {
    phones_.forget(std::string(caller.phone->digest));
    phones_changed();
    WebResponse response = json(said_json("forgotten"));
    response.cookie = cookie_of("");
    answered(std::move(response));
}

void Desk::more_digits(const Caller&, const Answered& answered) {
    answered(new_digits() ? json(said_json("taken"))
                          : json(said_json("too late: five wrong tries; wait a minute"), 403));
}

}  // namespace breakstep::desk
