// The desk without its sockets: who may ask what, and what comes back. Every request of every browser goes through
// answer(), so that tests and the fuzz target need no network.
//
// What is checked, in this order: the Host is one of ours (a foreign name that leads here by a trick of the name
// service gets nothing); the target is a path that a page of ours has; styles and scripts, which tell nothing of
// anybody, go to all; all else only to a paired phone; what changes something needs our Origin and the page's own
// token, and mostly the one phone that commands.
//
// Owned by the server (web/server.hpp); its thread's alone. Answers of the evening come on any thread.
#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "desk/guard/pairing.hpp"
#include "desk/guard/phones.hpp"
#include "desk/house.hpp"
#include "desk/live/feed.hpp"
#include "desk/web/message.hpp"

namespace breakstep::desk {

/// Where the desk can be reached.
struct DeskPlace {
    bool hall = false;               ///< from the local network, by TLS; else from this computer alone
    std::vector<std::string> hosts;  ///< "127.0.0.1:8080": what Host may say
    std::string address;             ///< "https://10.42.0.1:8080/", as it is typed and scanned
    std::string fingerprint;         ///< of the certificate, SHA-256; "" without TLS
};

struct DeskClocks {
    std::function<DeskTime()> steady;
    std::function<std::int64_t()> unix_seconds;
};

class Desk {
  public:
    /// `house` must outlive it.
    Desk(const DeskHouse& house, DeskClocks clocks);
    void stand_at(DeskPlace place) { place_ = std::move(place); }

    void answer(const WebRequest& request, const Answered& answered);

    /// Whether a WebSocket may be opened, and whose it is then; else what is answered.
    struct Watcher {
        std::string phone;  ///< digest
        Feed::Place place;
    };
    [[nodiscard]] tl::expected<Watcher, WebResponse> watch(const WebRequest& request) const;
    [[nodiscard]] bool may_watch(const Watcher& watcher) const;

    /// New digits for a phone; nothing in the minute after five wrong tries.
    std::optional<std::string> new_digits();
    [[nodiscard]] const DeskPlace& place() const { return place_; }
    [[nodiscard]] Feed& feed() { return feed_; }
    [[nodiscard]] Phones& phones() { return phones_; }

    /// The list of phones changed: to be kept. May be empty.
    std::function<void(const Phones&)> on_phones;
    /// A line for the laptop's terminal. May be empty.
    std::function<void(const std::string&)> on_notice;
    /// So many requests were refused, by what was wrong with them.
    struct Refused {
        std::uint64_t host = 0, target = 0, unpaired = 0, origin = 0, token = 0, command = 0, digits = 0;
    };
    [[nodiscard]] const Refused& refused() const { return refused_; }

  private:
    struct Caller {
        const WebRequest& request;
        Target target;
        const Phone* phone = nullptr;
        std::string form_token;
    };
    using Page = WebResponse (Desk::*)(const Caller&);
    using Act = void (Desk::*)(const Caller&, const Answered&);
    struct ActRoute {
        Act act;
        bool commands;  ///< only for the phone that commands
    };
    static const std::map<std::string, Page, std::less<>>& pages();
    static const std::map<std::string, ActRoute, std::less<>>& acts();

    [[nodiscard]] bool is_ours(const WebRequest& request) const;
    [[nodiscard]] bool is_same_origin(const WebRequest& request) const;
    [[nodiscard]] Caller caller_of(const WebRequest& request, Target target) const;
    [[nodiscard]] WebResponse changed(const Caller& caller, const Answered& answered, bool& later);
    [[nodiscard]] WebResponse pair(const WebRequest& request);
    [[nodiscard]] WebResponse pair_page(const std::string& said, int status = 200) const;
    [[nodiscard]] std::string cookie_name() const { return place_.hall ? "__Host-desk" : "desk"; }
    [[nodiscard]] std::string cookie_of(const std::string& token) const;
    void phones_changed();

    WebResponse evening_page(const Caller&);
    WebResponse video_page(const Caller&);
    WebResponse athletes_page(const Caller&);
    WebResponse drills_page(const Caller&);
    WebResponse drill_page(const Caller&);
    WebResponse progress_page(const Caller&);
    WebResponse sessions_page(const Caller&);
    WebResponse session_page(const Caller&);
    WebResponse page_picture(const Caller&);
    WebResponse phones_page(const Caller&);
    WebResponse replay(const Caller&);
    WebResponse partner_page(const Caller&);
    WebResponse rig_page(const Caller&);
    WebResponse athlete_page(const Caller&);
    WebResponse questions(const Caller&);
    WebResponse taps(const Caller&);
    [[nodiscard]] bool evening_runs() const { return house_.view && house_.view(); }
    [[nodiscard]] std::optional<AthleteSeen> athlete_asked(const Caller&, const char* name) const;

    void ask(const Caller&, const Answered&);
    void comes(const Caller&, const Answered&);
    void leaves(const Caller&, const Answered&);
    void timeable(const Caller&, const Answered&);
    void leads(const Caller&, const Answered&);
    void felt(const Caller&, const Answered&);
    void keep_taps(const Caller&, const Answered&);
    void line(const Caller&, const Answered&);
    void calibrate(const Caller&, const Answered&);
    void check_drill(const Caller&, const Answered&);
    void take_command(const Caller&, const Answered&);
    void forget_me(const Caller&, const Answered&);
    void more_digits(const Caller&, const Answered&);

    const DeskHouse& house_;
    DeskClocks clocks_;
    DeskPlace place_;
    PairingCode code_;
    Phones phones_;
    Feed feed_;
    Refused refused_;
};

}  // namespace breakstep::desk
