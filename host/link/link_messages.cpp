// What each message of the rig does.
#include <algorithm>
#include <iterator>
#include <utility>

#include "link/link_state.hpp"

namespace breakstep {
namespace {

// A bound that hovers at the limit must not be told at every ping: it is good under the limit, bad over a quarter more.
constexpr double bound_slack = 1.25;

// Bytes that came behind a frame in one read came after it on the wire too. How many count is limited: a rig on a
// resonator may be 1 % faster than its nominal rate, which makes 13 us of 64 bytes.
constexpr std::size_t bytes_after_max = 64;

// Of 16 ms between two handovers, even delays make three of five round trips longer than this; other links have it only
// when the host was held up. Judged once, after most of the burst.
constexpr Duration long_trip = 6ms;
constexpr std::int32_t trips_told = 30;
constexpr Duration slow_ping_period = 40ms;
constexpr Duration slow_repeat = 50ms;

// The protocol's: acknowledgements at least so far apart.
constexpr Duration acknowledge_spacing = 10ms;

// So many exchanges after connecting every reply is fitted; then, while the bound is good, about one each second.
constexpr std::int32_t settled_trips = 64;
constexpr Duration settled_fit_period = 900ms;

// The protocol's scale of a pad's level; a hit has some.
constexpr std::uint16_t level_max = 1023;

}  // namespace

void Link::State::take_bytes(HostTime arrived, std::span<const std::uint8_t> received) {
    // The last byte was there at `arrived`; every byte before it one byte's time earlier, at the latest.
    for (std::size_t i = 0; i < received.size(); ++i) {
        wire_message message{};
        ++frame_size;
        ++counters.bytes;
        const wire_received what = wire_receive(&receiver, received[i], &message);
        if (received[i] != 0) continue;
        const std::size_t after = std::min(received.size() - 1 - i, bytes_after_max);
        const auto wire_bytes = static_cast<std::int64_t>(after + frame_size);
        const std::size_t frame_bytes = std::exchange(frame_size, 0);
        if (what == WIRE_RECEIVED_NOTHING) continue;
        if (what == WIRE_RECEIVED_DAMAGED) {
            ++counters.damaged;
            counters.damaged_bytes += frame_bytes;
            continue;
        }
        ++counters.frames;
        last_heard = arrived;
        pings.hear();
        if (what == WIRE_RECEIVED_UNKNOWN) {
            handle_unknown(arrived);
        } else {
            handle(message, arrived, arrived - wire_bytes * byte_time);
        }
    }
}

/// A hello of another major version may be shorter than ours. The receiver still holds the payload of its last frame.
void Link::State::handle_unknown(HostTime now) {
    ++counters.unknown;
    if (receiver.bytes[0] != WIRE_HELLO || receiver.bytes[1] == WIRE_VERSION_MAJOR) return;
    Greeting::Hello hello{};
    hello.version_major = receiver.bytes[1];
    hello.version_minor = receiver.bytes[2];
    handle_hello(hello, now);
}

void Link::State::handle(const wire_message& message, HostTime now, HostTime latest) {
    if (wire_is_event(message.type)) return handle_event(message, now, latest);
    switch (message.type) {
        case WIRE_HELLO:
            return handle_hello(message.as.hello, now);
        case WIRE_CHANNEL:
            if (!linked && !greeting.take_channel(message)) ++counters.stray;
            return;
        case WIRE_SNAPSHOT:
            return handle_snapshot(message, now, latest);
        case WIRE_PING_REPLY:
            return handle_ping_reply(message, now, latest);
        case WIRE_OVERWRITTEN:
            if (!linked || !sequence.overwritten(message.as.overwritten.first, message.as.overwritten.last)) {
                ++counters.stray;
                return;
            }
            deliver();
            keep_promise();
            return ask_missing(now);
        case WIRE_PAD_LEVEL:
            return handle_level(message, now, latest);
        case WIRE_COUNTERS:
            return handle_counters(message);
        case WIRE_SETTING_VALUE:
            return handle_setting(message);
        case WIRE_LAMP_ACCEPTED:
            if (is_current(message.as.lamp_accepted.boot)) return orders.accepted(message.as.lamp_accepted.order);
            ++counters.stray;
            return;
        default:  // the host's own echo
            ++counters.stray;
    }
}

void Link::State::handle_level(const wire_message& message, HostTime now, HostTime latest) {
    const auto& level = message.as.pad_level;
    const std::optional<PadRole> pad = map.pad(level.pad);
    if (!linked || !pad) {
        ++counters.stray;
        return;
    }
    if (level.level > level_max || level.noise > level_max) {
        ++counters.skipped;
        return;
    }
    clock.was_at_latest(ticks.unwrap(message.as.pad_level.time), latest);
    requests.level_came(now, outbox);
    events.push_back(PadLevel{*pad, level.level, level.noise});
}

void Link::State::handle_counters(const wire_message& message) {
    requests.counters_answered();
    RigCounters counts;
    std::copy_n(std::begin(message.as.counters.values), counts.values.size(), counts.values.begin());
    events.push_back(counts);
}

void Link::State::handle_setting(const wire_message& message) {
    const auto& setting = message.as.setting;
    // That there is no such setting may be said of any key.
    const bool is_key = setting.key >= WIRE_SETTING_PAD_THRESHOLD && setting.key <= WIRE_SETTING_GATE_DEBOUNCE;
    if (setting.status > WIRE_SETTING_OUT_OF_RANGE || (!is_key && setting.status != WIRE_SETTING_UNKNOWN)) {
        ++counters.skipped;
        return;
    }
    requests.setting_answered(setting.key, setting.index);
    events.push_back(SettingValue{setting.key, setting.index, setting.status, setting.value});
}

void Link::State::handle_ping_reply(const wire_message& message, HostTime now, HostTime latest) {
    const auto& reply = message.as.ping_reply;
    if (linked && reply.boot != hello_boot) {
        // The hello of the new boot was lost: ask for it.
        end_boot(now);
        greet(now, false);
        return;
    }
    const auto sent_at = pings.answered(reply.id);
    const TargetTime received = ticks.unwrap(reply.received);
    const TargetTime replied = ticks.unwrap(reply.replied);
    if (!linked || !sent_at || replied < received) {
        ++counters.stray;
        return;
    }
    ++counters.replies;
    learn_line((now - *sent_at) - (replied - received), ping_size * byte_time + (now - latest));
    clock.was_at_earliest(received, *sent_at + ping_size * byte_time);
    clock.was_at_latest(replied, byte_time > Duration{} ? latest : now);
    sequence.newest_is(reply.newest);
    promise = Promise{reply.newest, replied};
    fit(now);
    if (!linked) return;
    keep_promise();
    ask_missing(now);
    if (now - last_acknowledge >= acknowledge_spacing) acknowledge(now);
}

/// `round_trip`: of one exchange, without the rig's own time; `wire_time`: what its bytes take on a serial line.
void Link::State::learn_line(Duration round_trip, Duration wire_time) {
    if (byte_time > Duration{} && round_trip < wire_time * 98 / 100) {
        // No serial line is so quick, even if a rig on a resonator is 1 % fast: a pty. Times taken off were wrong.
        byte_time = Duration{};
        clock.begin(clock.boot());
    }
    ++trips;
    if (round_trip > long_trip) ++long_trips;
    if (trips == trips_told && long_trips * 5 >= trips_told * 2) set_slow(true);
}

/// An adapter that hands bytes over every 16 ms: more pings, so that some replies come just before it does; and no
/// repeats before an answer can be there.
void Link::State::set_slow(bool is_slow) {
    pings.set_period(is_slow ? std::min(settings.ping_period, slow_ping_period) : settings.ping_period);
    sequence.set_repeat(is_slow ? std::max(settings.resend_repeat, slow_repeat) : settings.resend_repeat);
    orders.set_repeat(is_slow ? std::max(settings.order_repeat, slow_repeat) : settings.order_repeat);
}

void Link::State::fit(HostTime now) {
    // A line settled over a minute of readings hardly moves in a second, and the fit is the dearest thing the link
    // does.
    if (trips > settled_trips && bound_was_good && now - last_fit < settled_fit_period) return;
    last_fit = now;
    if (clock.fit() == RigClock::Fit::jumped) {
        if (byte_time > Duration{} && trips <= trips_told) {
            // Before the line is known, times taken off for bytes are the likelier fault; to take off none is never
            // wrong.
            byte_time = Duration{};
            return;
        }
        ++counters.clock_jumps;
        lose(VoidReason::clock_jump, now);
        complete.reset();
        greet(now, false);
        return;
    }
    tell_bound();
}

void Link::State::tell_bound() {
    if (!clock.has_fit()) return;
    const Uncertainty bound = clock.bound();
    const Duration limit = settings.cue_bound;
    const bool good = bound_was_good
                          ? static_cast<double>(bound.count()) < bound_slack * static_cast<double>(limit.count())
                          : bound < limit;
    if (good == bound_was_good) return;
    bound_was_good = good;
    events.push_back(ClockBound{clock.newest(), bound});
}

void Link::State::keep_promise() {
    if (!promise || !sequence.complete_through(promise->newest)) return;
    if (!complete || !complete->same_boot(promise->at) || *complete < promise->at) complete = promise->at;
    promise.reset();
}

void Link::State::handle_event(const wire_message& message, HostTime now, HostTime latest) {
    if (!has_leave) {
        ++counters.stray;
        return;
    }
    clock.was_at_latest(ticks.unwrap(message.time), latest);
    switch (message.type) {
        case WIRE_LAMPS_SET:
        case WIRE_LAMP_REFUSED:
        case WIRE_LAMP_CANCELLED:
            orders.decided(now, message.as.lamp.order, outbox);
            break;
        default:
            break;
    }
    if (sequence.receive(message) == EventSequence::Taken::doubled) ++counters.doubled;
    if (!linked) return;  // told once the rig is found again, or its boot is known to be over
    deliver();
    keep_promise();
    ask_missing(now);
}

void Link::State::deliver() {
    items.clear();
    sequence.take(items);
    for (const EventSequence::Item& item : items) {
        if (const auto* lost = std::get_if<LostSpan>(&item)) {
            counters.lost += lost->count();
            tell(EventsLost{BootId{hello_boot}, lost->first, lost->last}, lost->last);
        } else {
            deliver_event(std::get<wire_message>(item));
        }
    }
}

void Link::State::tell(LinkEvent event, std::uint16_t last) {
    events.push_back(std::move(event));
    told = last;
}

void Link::State::deliver_event(const wire_message& event) {
    const TargetTime at = ticks.unwrap(event.time);
    const std::uint16_t number = event.sequence;
    const BoardId from = rig->board;
    const auto skip = [&](SkipReason reason) {
        ++counters.skipped;
        tell(EventSkipped{at, number, event.type, reason, from}, number);
    };
    switch (event.type) {
        case WIRE_PAD_HIT: {
            const auto& hit = event.as.pad_hit;
            if (hit.pad >= pads_announced || hit.peak == 0 || hit.peak > level_max)
                return skip(SkipReason::out_of_range);
            const auto pad = map.pad(hit.pad);
            if (!pad) break;
            return tell(PadHit{at, number, *pad, hit.peak, map.pad_roles(hit.echoes), from}, number);
        }
        case WIRE_GATE_BROKEN:
        case WIRE_GATE_RESTORED: {
            if (event.as.gate.gate >= gates_announced) return skip(SkipReason::out_of_range);
            const auto gate = map.gate(event.as.gate.gate);
            if (!gate) break;
            return tell(GateEdge{at, number, *gate, event.type == WIRE_GATE_BROKEN, from}, number);
        }
        case WIRE_SYNC_EDGE:
            if (event.as.sync.rising > 1 || !map.has_sync()) return skip(SkipReason::out_of_range);
            return tell(SyncEdge{at, number, event.as.sync.rising != 0, from}, number);
        case WIRE_LAMPS_SET:
            return tell(LampsSet{at, number, event.as.lamp.order, map.lamp_roles(event.as.lamp.lit), from}, number);
        case WIRE_LAMP_REFUSED:
            return tell(LampsRefused{at, number, event.as.lamp.order, event.as.lamp.reason, from}, number);
        case WIRE_LAMP_CANCELLED:
            return tell(LampsRefused{at, number, event.as.lamp.order, 0, from}, number);
        default:
            return skip(SkipReason::unknown_type);
    }
    // Of a channel with a role unknown here: a newer rig may have it. Its number counts, it does not.
    ++counters.stray;
}

}  // namespace breakstep
