#include "desk/desk.hpp"

#include <algorithm>

#include "desk/guard/secrets.hpp"
#include "desk/live/seen_json.hpp"
#include "desk/pages/browser_files.hpp"
#include "desk/pages/pages.hpp"

namespace breakstep::desk {
namespace {

constexpr const char* plain = "text/plain; charset=utf-8";
constexpr const char* as_json = "application/json";

WebResponse told(int status, std::string words) { return {status, plain, std::move(words) + "\n"}; }
WebResponse json(std::string body, int status = 200) { return {status, as_json, std::move(body)}; }

int status_of(const Error& error) {
    switch (error.kind) {
        case ErrorKind::bad_input:
            return 400;
        case ErrorKind::not_found:
            return 404;
        default:
            return 503;
    }
}

WebResponse wrong(const Error& error) { return json(said_json(error.text()), status_of(error)); }
WebResponse not_here() { return json(said_json("that is not to be had here"), 404); }

bool is_type(const std::string& header, std::string_view type) {
    return header.size() >= type.size() && std::string_view(header).substr(0, type.size()) == type &&
           (header.size() == type.size() || header[type.size()] == ';');
}

}  // namespace

Desk::Desk(const DeskHouse& house, DeskClocks clocks)
    : house_(house), clocks_(std::move(clocks)), code_(six_digits), feed_(house, random_token().substr(0, 12)) {}

// ---- the gate -------------------------------------------------------------------------------------------------------

bool Desk::is_ours(const WebRequest& request) const {
    return !request.doubled && std::find(place_.hosts.begin(), place_.hosts.end(), request.host) != place_.hosts.end();
}

// The host is one of ours already: a page of ours is one that came by the same name.
bool Desk::is_same_origin(const WebRequest& request) const {
    const std::string ours = (place_.hall ? "https://" : "http://") + request.host;
    return request.origin == ours && (request.fetch_site.empty() || request.fetch_site == "same-origin");
}

Desk::Caller Desk::caller_of(const WebRequest& request, Target target) const {
    Caller caller{request, std::move(target), nullptr, ""};
    const std::string token = cookie_in(request.cookie, cookie_name());
    if (token.empty()) return caller;
    caller.phone = phones_.find(token, clocks_.unix_seconds());
    if (caller.phone != nullptr) caller.form_token = form_token(token);
    return caller;
}

void Desk::answer(const WebRequest& request, const Answered& answered) {
    if (!is_ours(request)) {
        ++refused_.host;
        return answered(told(421, "This is not the desk of that name."));
    }
    auto target = target_in(request.target);
    if (!target) {
        ++refused_.target;
        return answered(told(400, "There is no such page."));
    }
    if (request.method == Method::other) return answered(told(405, "Pages are read by GET and acted on by POST."));
    if (request.method == Method::get)
        if (const BrowserFile* file = browser_file(target->path))
            return answered({200, file->type, file->text, "", "", true});
    if (target->path == "/pair") {
        if (request.method == Method::get) return answered(pair_page(""));
        return answered(pair(request));
    }
    const Caller caller = caller_of(request, std::move(*target));
    if (caller.phone == nullptr) {
        ++refused_.unpaired;
        if (request.method == Method::get && pages().contains(caller.target.path) && request.fetch_site != "cross-site")
            return answered({303, plain, "", "/pair"});
        return answered(told(401, "Pair this phone first."));
    }
    if (request.method == Method::get) {
        const auto page = pages().find(caller.target.path);
        return answered(page == pages().end() ? told(404, "There is no such page.") : (this->*page->second)(caller));
    }
    bool later = false;
    WebResponse response = changed(caller, answered, later);
    if (!later) answered(std::move(response));
}

// What changes something.
WebResponse Desk::changed(const Caller& caller, const Answered& answered, bool& later) {
    if (!is_same_origin(caller.request)) {
        ++refused_.origin;
        return told(403, "That did not come from a page of this desk.");
    }
    if (!same_secret(caller.request.form_token, caller.form_token)) {
        ++refused_.token;
        return told(403, "That page is of before; load it again.");
    }
    if (!is_type(caller.request.content_type, as_json)) return told(415, "That is not what a page of this desk sends.");
    const auto act = acts().find(caller.target.path);
    if (act == acts().end()) return told(404, "There is no such page.");
    if (act->second.commands && !caller.phone->commands) {
        ++refused_.command;
        return json(said_json("refused: this phone watches; another one commands"), 403);
    }
    later = true;
    (this->*act->second.act)(caller, answered);
    return {};
}

const std::map<std::string, Desk::Page, std::less<>>& Desk::pages() {
    static const std::map<std::string, Page, std::less<>> all{
        {"/", &Desk::evening_page},         {"/video", &Desk::video_page},   {"/athletes", &Desk::athletes_page},
        {"/drills", &Desk::drills_page},    {"/drill", &Desk::drill_page},   {"/progress", &Desk::progress_page},
        {"/page.svg", &Desk::page_picture}, {"/phones", &Desk::phones_page}, {"/replay", &Desk::replay}};
    return all;
}

const std::map<std::string, Desk::ActRoute, std::less<>>& Desk::acts() {
    static const std::map<std::string, ActRoute, std::less<>> all{{"/ask", {&Desk::ask, true}},
                                                                  {"/comes", {&Desk::comes, true}},
                                                                  {"/leaves", {&Desk::leaves, true}},
                                                                  {"/timeable", {&Desk::timeable, false}},
                                                                  {"/leads", {&Desk::leads, false}},
                                                                  {"/check", {&Desk::check_drill, false}},
                                                                  {"/command", {&Desk::take_command, false}},
                                                                  {"/forget", {&Desk::forget_me, false}},
                                                                  {"/digits", {&Desk::more_digits, true}}};
    return all;
}

// ---- pairing --------------------------------------------------------------------------------------------------------

std::string Desk::cookie_of(const std::string& token) const {
    return cookie_name() + "=" + token + "; Path=/; HttpOnly; SameSite=Strict" + (place_.hall ? "; Secure" : "") +
           "; Max-Age=" + (token.empty() ? std::string("0") : std::to_string(Phones::holds_seconds));
}

WebResponse Desk::pair_page(const std::string& said, int status) const {
    const DeskTime now = clocks_.steady();
    PairSeen seen{house_.club, said, code_.tries_left(), code_.digits(now).has_value(), code_.pause_still(now)};
    return {status, "text/html; charset=utf-8", desk::pair_page(seen)};
}

WebResponse Desk::pair(const WebRequest& request) {
    if (!is_same_origin(request)) {
        ++refused_.origin;
        return told(403, "That did not come from a page of this desk.");
    }
    const auto form =
        is_type(request.content_type, "application/x-www-form-urlencoded") ? form_in(request.body) : std::nullopt;
    if (!form || !form->contains("code")) return pair_page("Type the six digits.", 400);
    switch (code_.take(form->at("code"), clocks_.steady())) {
        case PairingCode::Answer::none:
            ++refused_.digits;
            return pair_page("No digits are good now. Ask for new ones at the laptop.", 403);
        case PairingCode::Answer::wrong:
            ++refused_.digits;
            if (code_.tries_left() <= 0 && on_notice)
                on_notice("five wrong tries: those digits are dead; phones that are paired stay so");
            return pair_page("Those are not the digits.", 403);
        case PairingCode::Answer::paired:
            break;
    }
    const auto role = form->find("role");
    const auto paired = phones_.pair(role == form->end() || role->second != "watch", clocks_.unix_seconds());
    if (!paired) return pair_page("Twelve phones are paired: that is the most.", 403);
    phones_changed();
    if (on_notice)
        on_notice("phone " + std::to_string(paired->phone.number) + " is paired and " +
                  (paired->phone.commands ? "in command" : "watches"));
    WebResponse response{303, plain, "", "/"};
    response.cookie = cookie_of(paired->token);
    return response;
}

void Desk::phones_changed() {
    if (on_phones) on_phones(phones_);
}

std::optional<std::string> Desk::new_digits() { return code_.renew(clocks_.steady()); }

tl::expected<Desk::Watcher, WebResponse> Desk::watch(const WebRequest& request) const {
    const auto refuse = [](int status, const char* words) { return tl::make_unexpected(told(status, words)); };
    if (!is_ours(request)) return refuse(421, "This is not the desk of that name.");
    auto target = target_in(request.target);
    if (!target || target->path != "/live") return refuse(404, "There is no such page.");
    if (!is_same_origin(request)) return refuse(403, "That did not come from a page of this desk.");
    const Caller caller = caller_of(request, std::move(*target));
    if (caller.phone == nullptr) return refuse(401, "Pair this phone first.");
    Watcher watcher{caller.phone->digest, {}};
    const auto& query = caller.target.query;
    if (const auto run = query.find("run"); run != query.end()) watcher.place.run = run->second;
    if (const auto from = query.find("from"); from != query.end() && from->second.size() <= 9)
        for (const char digit : from->second) {
            if (digit < '0' || digit > '9') return refuse(400, "That is no number of a rep.");
            watcher.place.rep = 10 * watcher.place.rep + static_cast<std::uint64_t>(digit - '0');
        }
    return watcher;
}

bool Desk::may_watch(const Watcher& watcher) const {
    return phones_.of(watcher.phone, clocks_.unix_seconds()) != nullptr;
}

// ---- pages ----------------------------------------------------------------------------------------------------------

namespace {

Frame frame_of(const DeskHouse& house, const Phone& phone, const std::string& form_token) {
    return {house.club, form_token, phone.number, phone.commands, static_cast<bool>(house.view)};
}

WebResponse page(std::string body) { return {200, "text/html; charset=utf-8", std::move(body)}; }

}  // namespace

WebResponse Desk::evening_page(const Caller& caller) {
    const Frame frame = frame_of(house_, *caller.phone, caller.form_token);
    if (!house_.view) return page(home_page(frame));
    return page(desk::evening_page(frame, house_.drills));
}

WebResponse Desk::video_page(const Caller& caller) {
    return page(desk::video_page(frame_of(house_, *caller.phone, caller.form_token)));
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
    const RepSeen* seen = feed_.find(SessionId{*id}, RepId{std::stoi(rep->second)});
    return seen == nullptr ? told(404, "There is no such rep.") : json(replay_json(*seen));
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
