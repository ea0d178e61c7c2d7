// What each message of the rig does.
#include <array>

#include "link/link_state.hpp"

namespace breakstep {
namespace {

// A bound that hovers at the limit must not be told at every ping: it is good under the limit, bad over a quarter more.
constexpr double bound_slack = 1.25;

}  // namespace

void Link::State::take_bytes(HostTime arrived, std::span<const std::uint8_t> received) {
    // The last byte was there at `arrived`; every byte before it one byte's time earlier, at the latest.
    for (std::size_t i = 0; i < received.size(); ++i) {
        wire_message message{};
        ++frame_size;
        const wire_received what = wire_receive(&receiver, received[i], &message);
        if (received[i] != 0) continue;
        const auto after = static_cast<std::int64_t>(received.size() - 1 - i);
        const auto whole = static_cast<std::int64_t>(frame_size);
        frame_size = 0;
        switch (what) {
            case WIRE_RECEIVED_NOTHING: break;
            case WIRE_RECEIVED_DAMAGED: ++counters.damaged; break;
            case WIRE_RECEIVED_UNKNOWN:
                ++counters.frames;
                ++counters.unknown;
                break;
            case WIRE_RECEIVED_MESSAGE: {
                ++counters.frames;
                last_heard = arrived;
                pings.hear();
                handle(message, arrived, arrived - (after + whole) * settings.byte_time);
                break;
            }
        }
    }
}

void Link::State::handle(const wire_message& message, HostTime now, HostTime latest) {
    if (wire_is_event(message.type)) return handle_event(message, now, latest);
    switch (message.type) {
        case WIRE_HELLO: return handle_hello(message.as.hello, now);
        case WIRE_CHANNEL:
            if (!linked && !greeting.take_channel(message)) ++counters.stray;
            return connect_if_whole(now);
        case WIRE_SNAPSHOT:
            if (linked) {
                sequence.newest_is(message.as.snapshot.newest);
            } else if (greeting.hello()) {
                snapshot = message;
                connect_if_whole(now);
            }
            return;
        case WIRE_PING_REPLY: return handle_ping_reply(message, now, latest);
        case WIRE_OVERWRITTEN:
            if (!linked) return;
            sequence.overwritten(message.as.overwritten.first, message.as.overwritten.last);
            deliver();
            ask_missing(now);
            return;
        case WIRE_PAD_LEVEL: {
            requests.level_came(now, outbox);
            const auto pad = map.pad(message.as.pad_level.pad);
            if (pad)
                events.push_back(PadLevel{*pad, message.as.pad_level.level, message.as.pad_level.noise});
            else
                ++counters.stray;
            return;
        }
        case WIRE_COUNTERS: {
            requests.counters_answered();
            RigCounters values;
            for (std::size_t i = 0; i < values.values.size(); ++i) values.values[i] = message.as.counters.values[i];
            events.push_back(values);
            return;
        }
        case WIRE_SETTING_VALUE: return handle_setting(message);
        case WIRE_LAMP_ACCEPTED:
            if (is_current(message.as.lamp_accepted.boot)) orders.accepted(message.as.lamp_accepted.order);
            return;
        default: ++counters.stray; return;
    }
}

void Link::State::handle_setting(const wire_message& message) {
    const auto& setting = message.as.setting;
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
    if (!linked || !sent_at) {
        ++counters.stray;
        return;
    }
    ++counters.replies;
    const TargetTime received = ticks.unwrap(reply.received), replied = ticks.unwrap(reply.replied);
    clock.was_at_earliest(received, *sent_at + ping_wire_time);
    clock.was_at_latest(replied, latest);
    sequence.newest_is(reply.newest);
    promise = Promise{reply.newest, replied};
    fit();
    if (!linked) return;
    keep_promise();
    ask_missing(now);
    acknowledge(now);
}

void Link::State::fit() {
    if (clock.fit() == RigClock::Fit::jumped) {
        ++counters.clock_jumps;
        lose(VoidReason::clock_jump);
        complete.reset();
        greet(last_heard, false);
        return;
    }
    tell_bound();
}

void Link::State::tell_bound() {
    if (!clock.has_fit()) return;
    const Uncertainty bound = clock.bound();
    const Duration limit = settings.cue_bound;
    const bool good = bound_was_good ? static_cast<double>(bound.count()) < bound_slack * static_cast<double>(limit.count())
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
    if (!linked) {
        ++counters.stray;
        return;
    }
    clock.was_at_latest(ticks.unwrap(message.time), latest);
    switch (message.type) {
        case WIRE_LAMPS_SET:
        case WIRE_LAMP_REFUSED:
        case WIRE_LAMP_CANCELLED: orders.decided(now, message.as.lamp.order, outbox); break;
        default: break;
    }
    if (sequence.receive(message) == EventSequence::Taken::doubled) ++counters.doubled;
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
            events.push_back(EventsLost{BootId{hello_boot}, lost->first, lost->last});
        } else {
            deliver_event(std::get<wire_message>(item));
        }
    }
}

void Link::State::deliver_event(const wire_message& event) {
    const TargetTime at = ticks.unwrap(event.time);
    switch (event.type) {
        case WIRE_PAD_HIT:
            if (const auto pad = map.pad(event.as.pad_hit.pad)) {
                events.push_back(
                    PadHit{at, event.sequence, *pad, event.as.pad_hit.peak, map.pad_roles(event.as.pad_hit.echoes)});
                return;
            }
            break;
        case WIRE_GATE_BROKEN:
        case WIRE_GATE_RESTORED:
            if (const auto gate = map.gate(event.as.gate.gate)) {
                events.push_back(GateEdge{at, event.sequence, *gate, event.type == WIRE_GATE_BROKEN});
                return;
            }
            break;
        case WIRE_SYNC_EDGE: events.push_back(SyncEdge{at, event.sequence, event.as.sync.rising != 0}); return;
        case WIRE_LAMPS_SET:
            events.push_back(LampsSet{at, event.sequence, event.as.lamp.order, map.lamp_roles(event.as.lamp.lit)});
            return;
        case WIRE_LAMP_REFUSED:
            events.push_back(LampsRefused{at, event.sequence, event.as.lamp.order, event.as.lamp.reason});
            return;
        case WIRE_LAMP_CANCELLED: events.push_back(LampsRefused{at, event.sequence, event.as.lamp.order, 0}); return;
        default: break;
    }
    // An event of a newer minor version, or of a channel with a role unknown here: its number counts, it does not.
    ++counters.stray;
}

}  // namespace breakstep
