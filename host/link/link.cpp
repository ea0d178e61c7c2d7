// The link's calls and timers.
#include "link/link.hpp"

#include <algorithm>

#include "link/link_state.hpp"

namespace breakstep {
namespace {

// Fast pings in the last part of a silence tell a lost reply from a lost rig.
constexpr std::int32_t quiet_pings_needed = 3;
constexpr Duration quiet_period = 50ms;
// Acknowledgements of single commits are gathered for so long; the protocol wants them 10 ms apart.
constexpr Duration acknowledge_delay = 10ms;

}  // namespace

Link::State::State(const LinkSettings& wanted, std::uint64_t seed)
    : settings(wanted),
      sequence(wanted.resend_repeat),
      orders(wanted.order_repeat, seed),
      pings({wanted.burst_period, wanted.ping_period, quiet_period, wanted.burst_pings}, seed) {
    wire_message ping{};
    ping.type = WIRE_PING;
    std::array<std::uint8_t, WIRE_FRAME_MAX> frame{};
    ping_size = static_cast<std::int64_t>(wire_encode_frame(&ping, frame.data()));
}

Link::Link(const LinkSettings& settings, std::uint64_t seed) : state_(std::make_unique<State>(settings, seed)) {}
Link::~Link() = default;
Link::Link(Link&&) noexcept = default;
Link& Link::operator=(Link&&) noexcept = default;

void Link::port_opened(HostTime now) {
    State& s = *state_;
    s.open = true;
    s.refused = false;
    s.receiver = {};
    s.frame_size = 0;
    s.outbox.clear();
    s.last_heard = now;
    s.byte_time = s.settings.byte_time;
    s.trips = s.long_trips = 0;
    s.set_slow(s.settings.slow_latency_timer);
    s.greet(now, true);
    s.outbox.release(now);
}

void Link::port_closed(HostTime now) {
    State& s = *state_;
    if (s.linked) s.lose(VoidReason::link_lost, now);
    s.open = false;
    s.has_leave = false;
    s.greeting.forget();
    s.next_greeting.reset();
    s.outbox.clear();
}

void Link::bytes(HostTime arrived, std::span<const std::uint8_t> received) {
    if (!state_->open) return;
    state_->take_bytes(arrived, received);
    state_->count_unanswered();
    state_->outbox.release(arrived);
}

void Link::due(HostTime now) {
    State& s = *state_;
    if (!s.open) return;
    if (s.next_greeting && now >= *s.next_greeting) s.greet(now, false);
    if (s.linked) {
        const Duration quiet = now - s.last_heard;
        if (quiet >= s.settings.silence / 2 && s.pings.listen(now) >= quiet_pings_needed &&
            quiet >= s.settings.silence) {
            s.lose(VoidReason::link_lost, now);
            s.greet(now, true);
        }
    }
    if (s.linked) {
        while (s.pings.is_due(now)) {
            wire_message ping{};
            ping.type = WIRE_PING;
            ping.as.ping.id = s.pings.next_id();
            s.pings.made(s.outbox.push(ping), now, s.bound_was_good);
            ++s.counters.pings;
        }
        s.orders.due(now, s.outbox);
        s.requests.due(now, s.outbox);
        s.ask_missing(now);
        if (s.next_acknowledge && now >= *s.next_acknowledge) s.acknowledge(now);
    }
    s.count_unanswered();
    s.outbox.release(now);
}

std::optional<HostTime> Link::next_due() const {
    const State& s = *state_;
    std::optional<HostTime> next;
    if (!s.open) return next;
    const auto earlier = [&next](const std::optional<HostTime>& other) {
        if (other && (!next || *other < *next)) next = other;
    };
    earlier(s.next_greeting);
    earlier(s.outbox.next_release());
    if (s.linked) {
        earlier(s.pings.next_due());
        earlier(s.orders.next_due());
        earlier(s.requests.next_due());
        earlier(s.sequence.next_ask());
        earlier(s.next_acknowledge);
    }
    return next;
}

void Link::drain(std::vector<OutFrame>& out) {
    state_->outbox.drain(out);
    state_->counters.dropped = state_->outbox.dropped();
}

void Link::ask_ping(HostTime at) { state_->pings.ask(at); }

void Link::sent(FrameId frame, HostTime at) { state_->pings.sent(frame, at); }

void Link::take(std::vector<LinkEvent>& out) {
    for (LinkEvent& event : state_->events) out.push_back(std::move(event));
    state_->events.clear();
}

void Link::committed(HostTime now, BootId boot, std::uint16_t through) {
    State& s = *state_;
    if (static_cast<std::uint32_t>(boot) != s.hello_boot || sequence_distance(through, s.acknowledged) <= 0) return;
    s.acknowledged = through;
    if (!s.next_acknowledge) s.next_acknowledge = now + acknowledge_delay;
}

void Link::give_up(HostTime) {
    state_->sequence.let_go();
    state_->deliver();
}

std::uint16_t Link::order_lamps(HostTime now, TargetTime at, std::uint8_t affected, std::uint8_t lit) {
    State& s = *state_;
    if (!s.is_current(static_cast<std::uint32_t>(at.boot()))) return 0;
    const std::uint8_t affected_lamps = s.map.lamp_indices(affected);
    if (affected_lamps == 0) return 0;
    const HostTime due = s.clock.has_fit() ? s.clock.host_time_from(at).at : now;
    const std::uint16_t order = s.orders.order(
        now, at, due, affected_lamps, static_cast<std::uint8_t>(s.map.lamp_indices(lit) & affected_lamps), s.outbox);
    s.outbox.release(now);
    return order;
}

void Link::cancel_lamps(HostTime now) {
    State& s = *state_;
    if (!s.linked) return;
    s.orders.cancel_all(now, BootId{s.hello_boot}, s.outbox);
    s.outbox.release(now);
}

void Link::request_counters(HostTime now) {
    state_->requests.counters(now, state_->outbox);
    state_->outbox.release(now);
}

void Link::set_levels(HostTime now, bool on) {
    state_->requests.levels(now, on, state_->outbox);
    state_->outbox.release(now);
}

void Link::set_setting(HostTime now, std::uint8_t key, std::uint8_t index, std::uint16_t value) {
    wire_message message{};
    message.type = WIRE_SETTING_SET;
    message.as.setting.key = key;
    message.as.setting.index = index;
    message.as.setting.value = value;
    state_->requests.setting(now, message, state_->outbox);
    state_->outbox.release(now);
}

void Link::get_setting(HostTime now, std::uint8_t key, std::uint8_t index) {
    wire_message message{};
    message.type = WIRE_SETTING_GET;
    message.as.setting.key = key;
    message.as.setting.index = index;
    state_->requests.setting(now, message, state_->outbox);
    state_->outbox.release(now);
}

bool Link::connected() const { return state_->linked && state_->clock.has_fit(); }

std::optional<TargetTime> Link::complete_until() const { return state_->linked ? state_->complete : std::nullopt; }

std::optional<TargetReading> Link::target_time_from(HostTime time) const {
    if (!state_->clock.has_fit()) return std::nullopt;
    return state_->clock.target_time_from(time);
}

std::optional<HostReading> Link::host_time_from(TargetTime time) const {
    if (!state_->clock.has_fit() || time.boot() != state_->clock.boot()) return std::nullopt;
    return state_->clock.host_time_from(time);
}

Uncertainty Link::bound() const { return state_->clock.has_fit() ? state_->clock.bound() : unknown_uncertainty; }

std::optional<ClockRate> Link::rate() const {
    const RigClock& clock = state_->clock;
    if (!clock.has_fit()) return std::nullopt;
    constexpr double billion = 1e9;
    return ClockRate{clock.boot(), envelope::rounded(clock.rate_excess() * billion),
                     envelope::rounded(clock.rate_uncertainty() * billion) + 1};
}

const LinkCounters& Link::counters() const { return state_->counters; }
const std::optional<RigConnected>& Link::rig() const { return state_->rig; }

}  // namespace breakstep
