// Greeting a rig, losing it, and finding it again.
#include "link/link_state.hpp"

namespace breakstep {
namespace {

constexpr std::uint32_t no_boot = 0;

}  // namespace

void Link::State::greet(HostTime now, bool first) {
    wire_message request{};
    request.type = WIRE_HELLO_REQUEST;
    // Half a frame may stand on the line from before: a zero ends it.
    if (first)
        outbox.push_first(request);
    else
        outbox.push(request);
    next_greeting = now + settings.hello_period;
}

bool Link::State::is_refused(const Greeting::Hello& hello) {
    std::optional<Error> why;
    if (hello.version_major != WIRE_VERSION_MAJOR) {
        why = Error{ErrorKind::incompatible,
                    "the rig speaks version " + std::to_string(hello.version_major) + "." +
                        std::to_string(hello.version_minor) + " of the protocol, this program version " +
                        std::to_string(WIRE_VERSION_MAJOR) + "." + std::to_string(WIRE_VERSION_MINOR),
                    hello.version_major > WIRE_VERSION_MAJOR ? "install a newer breakstep"
                                                             : "load newer firmware onto the rig"};
    } else if (const auto& wanted = board ? board : settings.board; wanted && BoardId{hello.board} != *wanted) {
        why =
            Error{ErrorKind::device, "another rig answers on this port", "plug in the rig that the session began with"};
    } else if (hello.pads < settings.pads_needed) {
        why = Error{ErrorKind::device,
                    "the rig has " + std::to_string(hello.pads) + " pads, and " + std::to_string(settings.pads_needed) +
                        " are needed",
                    "connect its pads, then reset the rig"};
    }
    if (!why) return false;
    if (!refused) events.push_back(RigRefused{*why});
    refused = true;
    return true;
}

void Link::State::handle_hello(const Greeting::Hello& hello, HostTime now) {
    const bool is_sane = hello.boot != no_boot && hello.pads <= WIRE_PADS_MAX && hello.gates <= WIRE_GATES_MAX &&
                         hello.lamps <= WIRE_LAMPS_MAX && hello.syncs <= 1;
    // Of another major version nothing but the version is sure to be where it is here.
    if (hello.version_major == WIRE_VERSION_MAJOR && !is_sane) {
        ++counters.stray;
        return;
    }
    if (is_refused(hello)) {
        greeting.forget();
        next_greeting.reset();
        return;
    }
    if (hello_boot != no_boot && hello.boot != hello_boot) end_boot(now);
    if (linked) {
        // It has not seen the acknowledgement yet, or was asked twice.
        acknowledge(now);
        sequence.newest_is(hello.newest);
        return;
    }
    greeting.take_hello(hello);
    if (!next_greeting) next_greeting = now + settings.hello_period;
}

/// A snapshot is the last word of an account; if frames were lost before it, the rig is asked for all of it again,
/// since an older snapshot may have been overtaken by events.
void Link::State::handle_snapshot(const wire_message& snapshot, HostTime now, HostTime latest) {
    if (linked) {
        clock.was_at_latest(ticks.unwrap(snapshot.as.snapshot.time), latest);
        sequence.newest_is(snapshot.as.snapshot.newest);
        ask_missing(now);
    } else if (greeting.is_whole()) {
        connect(snapshot, now, latest);
    } else if (greeting.hello()) {
        greet(now, false);
    }
}

void Link::State::connect(const wire_message& snapshot, HostTime now, HostTime latest) {
    const Greeting::Hello& hello = *greeting.hello();
    const std::uint16_t newest = snapshot.as.snapshot.newest;
    if (hello_boot != hello.boot) {
        // What a rig kept from before this program began belongs to nobody; what a later boot kept is this session's.
        const bool first_ever = hello_boot == no_boot && counters.resets == 0;
        hello_boot = hello.boot;
        clock.begin(BootId{hello.boot});
        ticks.begin(BootId{hello.boot});
        complete.reset();
        promise.reset();
        bound_was_good = false;
        acknowledged = first_ever ? newest : static_cast<std::uint16_t>(0);
        // Unless it is this program's own, from before a power cut.
        const auto& known = settings.known;
        const bool is_known = known && known->board == BoardId{hello.board} && known->boot == BootId{hello.boot} &&
                              sequence_distance(newest, known->through) >= 0;
        if (first_ever && is_known) acknowledged = known->through;
        told = acknowledged;
        sequence.begin(acknowledged);
    }
    linked = true;
    has_leave = true;
    board = BoardId{hello.board};
    next_greeting.reset();
    RigConnected connected;
    connected.board = BoardId{hello.board};
    connected.boot = BootId{hello.boot};
    connected.snapshot_at = ticks.unwrap(snapshot.as.snapshot.time);
    connected.gates_broken = snapshot.as.snapshot.gates_broken;
    connected.channels = greeting.channels();
    map = ChannelMap(connected.channels);
    pads_announced = hello.pads;
    gates_announced = hello.gates;
    rig = connected;
    events.push_back(std::move(connected));
    deliver();
    clock.was_at_latest(rig->snapshot_at, latest);
    sequence.newest_is(newest);
    promise = Promise{newest, rig->snapshot_at};
    keep_promise();
    acknowledge(now);
    pings.begin(now);
    requests.connected(now, outbox);
    ask_missing(now);
}

void Link::State::end_boot(HostTime now) {
    sequence.let_go();
    deliver();
    // Said also when the link was lost before: only now it is known that the boot is over.
    lose(VoidReason::board_reset, now);
    if (const auto rest = sequence.rest()) {
        counters.lost += rest->count();
        events.push_back(EventsLost{BootId{hello_boot}, rest->first, rest->last});
    }
    ++counters.resets;
    hello_boot = no_boot;
    has_leave = false;
    clock.begin(BootId{no_boot});
    orders.forget_all();
    outbox.clear();
}

void Link::State::lose(VoidReason reason, HostTime now) {
    linked = false;
    bound_was_good = false;
    pings.stop();
    sequence.forget_asks();
    requests.forget();
    greeting.forget();
    promise.reset();
    next_acknowledge.reset();
    next_greeting = now + settings.hello_period;
    events.push_back(RigLost{reason});
}

void Link::State::ask_missing(HostTime now) {
    if (!linked) return;
    asks.clear();
    sequence.ask(now, asks);
    for (const EventSequence::Ask& ask : asks) {
        wire_message request{};
        request.type = WIRE_RESEND;
        request.as.resend.boot = hello_boot;
        request.as.resend.first = ask.first;
        request.as.resend.count = ask.count;
        outbox.push(request);
        counters.asked_again += ask.count;
    }
}

void Link::State::acknowledge(HostTime now) {
    // Events that were passed over need no keeping: they go with the last one that the application was told of.
    const bool all_kept = sequence_distance(acknowledged, told) >= 0;
    wire_message message{};
    message.type = WIRE_ACKNOWLEDGE;
    message.as.acknowledge.boot = hello_boot;
    message.as.acknowledge.through = all_kept ? sequence.delivered() : acknowledged;
    outbox.push(message);
    next_acknowledge.reset();
    last_acknowledge = now;
}

}  // namespace breakstep
