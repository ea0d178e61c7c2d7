#include "desk/desk.hpp"

#include <algorithm>

#include "desk/answers.hpp"
#include "desk/guard/secrets.hpp"
#include "desk/live/seen_json.hpp"
#include "desk/pages/browser_files.hpp"
#include "desk/pages/pages.hpp"

namespace breakstep::desk {
namespace {

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
        {"/", &Desk::evening_page},          {"/video", &Desk::video_page},
        {"/athletes", &Desk::athletes_page}, {"/drills", &Desk::drills_page},
        {"/drill", &Desk::drill_page},       {"/progress", &Desk::progress_page},
        {"/page.svg", &Desk::page_picture},  {"/sessions", &Desk::sessions_page},
        {"/session", &Desk::session_page},   {"/phones", &Desk::phones_page},
        {"/replay", &Desk::replay},          {"/partner", &Desk::partner_page},
        {"/rig", &Desk::rig_page},           {"/athlete", &Desk::athlete_page},
        {"/questions", &Desk::questions},    {"/taps", &Desk::taps}};
    return all;
}

const std::map<std::string, Desk::ActRoute, std::less<>>& Desk::acts() {
    static const std::map<std::string, ActRoute, std::less<>> all{{"/ask", {&Desk::ask, true}},
                                                                  {"/comes", {&Desk::comes, true}},
                                                                  {"/leaves", {&Desk::leaves, true}},
                                                                  {"/timeable", {&Desk::timeable, false}},
                                                                  {"/leads", {&Desk::leads, false}},
                                                                  {"/felt", {&Desk::felt, true}},
                                                                  {"/keep", {&Desk::keep_taps, true}},
                                                                  {"/line", {&Desk::line, true}},
                                                                  {"/calibrate", {&Desk::calibrate, true}},
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

}  // namespace breakstep::desk
