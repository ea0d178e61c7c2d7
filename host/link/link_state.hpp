// The link's inside: its parts and what joins them. link.cpp: calls and timers; link_messages.cpp: what each message
// does; link_session.cpp: greeting, losing and finding the rig.
#pragma once

#include <vector>

#include "link/clock.hpp"
#include "link/event_sequence.hpp"
#include "link/greeting.hpp"
#include "link/lamp_orders.hpp"
#include "link/link.hpp"
#include "link/pings.hpp"
#include "link/requests.hpp"
#include "link/ticks.hpp"

namespace breakstep {

struct Link::State {
    State(const LinkSettings& wanted, std::uint64_t seed);

    // link_messages.cpp
    void take_bytes(HostTime arrived, std::span<const std::uint8_t> received);
    void handle(const wire_message& message, HostTime now, HostTime latest);
    void handle_ping_reply(const wire_message& message, HostTime now, HostTime latest);
    void handle_event(const wire_message& message, HostTime now, HostTime latest);
    void handle_unknown(HostTime now);
    void handle_level(const wire_message& message, HostTime now, HostTime latest);
    void handle_counters(const wire_message& message);
    void handle_setting(const wire_message& message);
    void deliver();
    void deliver_event(const wire_message& event);
    void tell(LinkEvent event, std::uint16_t last);
    void keep_promise();
    void learn_line(Duration round_trip, Duration wire_time);
    void set_slow(bool is_slow);
    void fit(HostTime now);
    void tell_bound();

    // link_session.cpp
    void greet(HostTime now, bool first);
    void handle_hello(const Greeting::Hello& hello, HostTime now);
    [[nodiscard]] bool is_refused(const Greeting::Hello& hello);
    void handle_snapshot(const wire_message& snapshot, HostTime now, HostTime latest);
    void connect(const wire_message& snapshot, HostTime now, HostTime latest);
    void end_boot(HostTime now);
    void lose(VoidReason reason, HostTime now);
    void ask_missing(HostTime now);
    void acknowledge(HostTime now);

    void count_unanswered() { counters.unanswered = orders.unanswered() + requests.unanswered(); }
    [[nodiscard]] bool is_current(std::uint32_t boot) const { return linked && boot == hello_boot; }

    const LinkSettings settings;
    wire_receiver receiver{};
    std::size_t frame_size = 0;  ///< bytes of the frame that is under way
    Greeting greeting;
    ChannelMap map;
    std::uint8_t pads_announced = 0, gates_announced = 0;
    EventSequence sequence;
    LampOrders orders;
    Pings pings;
    Requests requests;
    Outbox outbox;
    RigClock clock;
    TickUnwrapper ticks;
    LinkCounters counters;
    std::vector<LinkEvent> events;
    std::vector<EventSequence::Item> items;
    std::vector<EventSequence::Ask> asks;
    std::int64_t ping_size = 0;  ///< bytes of a ping's frame

    // What the replies have told about this opened port.
    Duration byte_time{};  ///< the settings', or 0 if replies come sooner than bytes could
    std::int32_t trips = 0, long_trips = 0;

    bool open = false;
    bool linked = false;     ///< greeted and acknowledged, and not lost since
    bool refused = false;    ///< said once for each opening of the port
    bool has_leave = false;  ///< events that come now are hello_boot's: it alone was given leave, on this opened port
    std::uint32_t hello_boot = 0;  ///< the boot that sequence, clock and ticks are of; 0 before the first
    std::optional<BoardId> board;  ///< once a rig was taken, no other is
    std::optional<RigConnected> rig;
    std::optional<HostTime> next_greeting;
    std::uint16_t acknowledged = 0;  ///< kept by the application
    std::uint16_t told = 0;          ///< the last one that the application was told of, as an event or as lost
    std::optional<HostTime> next_acknowledge;
    HostTime last_acknowledge{};
    HostTime last_heard{};
    /// Once everything up to `newest` is delivered, everything stamped before `at` is.
    struct Promise {
        std::uint16_t newest;
        TargetTime at;
    };
    std::optional<Promise> promise;
    std::optional<TargetTime> complete;
    bool bound_was_good = false;
    HostTime last_fit{};
};

}  // namespace breakstep
