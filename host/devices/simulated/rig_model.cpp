#include "devices/simulated/rig_model.hpp"

#include <algorithm>
#include <cmath>

namespace breakstep {
namespace {

constexpr Duration hello_period = 500ms;        // PROTOCOL.md section 5
constexpr Duration levels_period = 50ms;        // section 13
constexpr Duration sound_gap = 10ms;            // section 10: a sound is over once no edge has come for so long
constexpr std::int64_t send_buffer_bytes = 64;  // what a small controller's transmitter holds

void count_up(std::uint16_t& counter, std::uint64_t by = 1) {
    counter = static_cast<std::uint16_t>(std::min<std::uint64_t>(65535, counter + by));
}

template <class Role>
std::optional<std::size_t> index_of(const std::vector<Role>& roles, Role role) {
    const auto found = std::find(roles.begin(), roles.end(), role);
    if (found == roles.end()) return std::nullopt;
    return static_cast<std::size_t>(found - roles.begin());
}

std::uint16_t ticks_of(Duration bound) {
    return static_cast<std::uint16_t>(std::max<std::int64_t>(1, (bound.count() + WIRE_TICK_NS - 1) / WIRE_TICK_NS));
}

wire_message message_of(std::uint8_t type) {
    wire_message message{};
    message.type = type;
    return message;
}

}  // namespace

RigModel::RigModel(const RigSettings& settings, HostTime powered)
    : settings_(settings),
      clock_(settings.clock, powered),
      body_(settings.seed, 1),
      firmware_(settings.seed, 2),
      boots_(settings.seed ^ settings.boot_salt, 3),
      ring_(settings.ring),
      pads_(settings.pads.size()),
      gates_(settings.gates.size()),
      lamps_(settings.lamps.size(), settings.lamp_orders),
      loudest_(settings.pads.size()),
      line_free_(powered),
      powered_(true) {
    agenda_.add(powered, Booted{});
}

// ---- inputs ---------------------------------------------------------------------------------------------------------

void RigModel::strike(HostTime at, PadRole pad, double strength) {
    if (const auto index = index_of(settings_.pads, pad)) agenda_.add(at, Strike{*index, strength});
}

void RigModel::block_gate(HostTime at, GateRole gate, bool blocked) {
    if (const auto index = index_of(settings_.gates, gate)) agenda_.add(at, Body{*index, blocked ? 1 : -1});
}

void RigModel::cross_gate(HostTime at, GateRole gate, Duration between_legs, Duration leg) {
    for (const HostTime begin : {at, at + between_legs}) {
        block_gate(begin, gate, true);
        block_gate(begin + leg, gate, false);
    }
}

void RigModel::sound(HostTime at, Duration length) {
    if (!settings_.sync) return;
    agenda_.add(at, SoundEdge{true, at + length});
    agenda_.add(at + length, SoundEdge{false, at + length});
}

void RigModel::reset(HostTime at) {
    agenda_.add(at, Power{false});
    agenda_.add(at, Power{true});
}

void RigModel::power(HostTime at, bool on) { agenda_.add(at, Power{on}); }

// ---- time and bytes -------------------------------------------------------------------------------------------------

void RigModel::bytes(HostTime now, std::span<const std::uint8_t> received) {
    due(now);
    if (!running_) return;  // nobody listens
    wire_message message;
    for (const std::uint8_t byte : received) {
        const wire_received what = wire_receive(&receiver_, byte, &message);
        if (what == WIRE_RECEIVED_DAMAGED) count_up(counters_[WIRE_COUNT_FRAMES_REJECTED]);
        if (what == WIRE_RECEIVED_MESSAGE) handle(now, message);
    }
}

void RigModel::due(HostTime now) {
    while (auto next = agenda_.take(now))
        std::visit([&](const auto& action) { happen(next->first, action); }, next->second);
}

void RigModel::drain(std::vector<std::uint8_t>& out) {
    out.insert(out.end(), out_.begin(), out_.end());
    out_.clear();
}

void RigModel::send(HostTime now, const wire_message& message) {
    std::array<std::uint8_t, WIRE_FRAME_MAX> frame{};
    const std::size_t size = wire_encode_frame(&message, frame.data());
    if (settings_.byte_time > 0ns && line_free_ > now + send_buffer_bytes * settings_.byte_time)
        count_up(counters_[WIRE_COUNT_SEND_BLOCKED]);
    line_free_ = std::max(line_free_, now) + settings_.byte_time * static_cast<std::int64_t>(size);
    out_.insert(out_.end(), frame.begin(), frame.begin() + static_cast<std::ptrdiff_t>(size));
}

// ---- boot and greeting ----------------------------------------------------------------------------------------------

void RigModel::begin_boot(HostTime now) {
    agenda_.remove_if([](const Action& action) { return action.index() >= Action(CloseBlows{}).index(); });
    const std::uint16_t watchdog = counters_[WIRE_COUNT_WATCHDOG];
    counters_ = {};
    counters_[WIRE_COUNT_WATCHDOG] = watchdog;
    ring_ = EventRing(settings_.ring);
    pads_.restart();
    lamps_.restart();
    receiver_ = {};
    replies_waiting_ = 0;
    running_ = leave_ = levels_on_ = false;
    lamps_changed(now);
}

void RigModel::happen(HostTime now, const Power& power) {
    begin_boot(now);
    powered_ = power.on;
    if (power.on) agenda_.add(now + settings_.boot_time, Booted{});
}

void RigModel::happen(HostTime now, const Booted&) {
    running_ = true;
    clock_ = CrystalClock(settings_.clock, now);
    do boot_ = boots_.next();
    while (boot_ == 0);
    gates_.restart();
    line_free_ = std::max(line_free_, now);
    out_.push_back(0);  // ends whatever the line made of the boot
    happen(now, Hello{});
}

void RigModel::happen(HostTime now, const Hello&) {
    if (leave_) return;
    send_greeting(now);
    agenda_.add(now + hello_period, Hello{});
}

void RigModel::send_greeting(HostTime now) {
    wire_message hello = message_of(WIRE_HELLO);
    auto& is = hello.as.hello;
    is.version_major = settings_.version_major;
    is.version_minor = settings_.version_minor;
    is.board = settings_.board;
    is.boot = boot_;
    is.pads = static_cast<std::uint8_t>(settings_.pads.size());
    is.gates = static_cast<std::uint8_t>(settings_.gates.size());
    is.lamps = static_cast<std::uint8_t>(settings_.lamps.size());
    is.syncs = settings_.sync ? 1 : 0;
    is.newest = ring_.newest();
    is.oldest_kept = ring_.oldest_kept();
    send(now, hello);

    for (std::size_t i = 0; i < settings_.pads.size(); ++i)
        send_channel(now, WIRE_KIND_PAD, i, static_cast<std::uint8_t>(settings_.pads[i]), settings_.pad.bound);
    for (std::size_t i = 0; i < settings_.gates.size(); ++i)
        send_channel(now, WIRE_KIND_GATE, i, static_cast<std::uint8_t>(settings_.gates[i]), settings_.gate.bound);
    for (std::size_t i = 0; i < settings_.lamps.size(); ++i)
        send_channel(now, WIRE_KIND_LAMP, i, static_cast<std::uint8_t>(settings_.lamps[i]), 1us);
    if (settings_.sync) send_channel(now, WIRE_KIND_SYNC, 0, 0, settings_.gate.bound);

    wire_message snapshot = message_of(WIRE_SNAPSHOT);
    snapshot.as.snapshot.time = clock_.ticks_at(now);
    for (std::size_t i = 0; i < settings_.gates.size(); ++i)
        if (gates_.broken(i)) snapshot.as.snapshot.gates_broken |= static_cast<std::uint8_t>(1U << i);
    snapshot.as.snapshot.lamps_lit = lamps_.lit();
    snapshot.as.snapshot.newest = ring_.newest();
    send(now, snapshot);
}

void RigModel::send_channel(HostTime now, std::uint8_t kind, std::size_t index, std::uint8_t role, Duration bound) {
    wire_message channel = message_of(WIRE_CHANNEL);
    channel.as.channel = {kind, static_cast<std::uint8_t>(index), role, 0, ticks_of(bound)};
    const bool partner =
        kind == WIRE_KIND_GATE && (role == WIRE_GATE_LOW || role == WIRE_GATE_HIP || role == WIRE_GATE_PARTNER_BACK);
    if (partner || kind == WIRE_KIND_SYNC) channel.as.channel.flags = WIRE_CHANNEL_OPTIONAL;
    send(now, channel);
}

// ---- events ---------------------------------------------------------------------------------------------------------

void RigModel::register_event(HostTime now, HostTime truth, wire_message event) {
    const wire_message& kept = ring_.add(event);
    counters_[WIRE_COUNT_OVERWRITTEN] = static_cast<std::uint16_t>(std::min<std::uint64_t>(65535, ring_.overwritten()));
    truths_.push_back({truth, BootId{boot_}, kept});
    if (leave_) send(now, kept);
}

void RigModel::happen(HostTime now, const Strike& strike) {
    // Drawn in any case, so that a rig that is off does not shift what comes after.
    const double lateness = body_.uniform(0.1, 1.0);
    const double full = std::clamp(strike.strength, 0.0, 1.0) * 1000;
    const auto level = static_cast<std::uint16_t>(std::lround(full));
    const Duration late(std::llround(lateness * static_cast<double>(settings_.pad.jitter.count())));
    agenda_.add(now + late, Level{strike.pad, level, now});
    for (std::size_t i = 0; i < settings_.pads.size(); ++i) {
        if (i == strike.pad) continue;
        const double reaches = full * settings_.crosstalk * body_.uniform(0.4, 1.0);
        const Duration travel(std::llround(body_.uniform(300e3, 1200e3)));  // through the frame of the target
        agenda_.add(now + travel, Level{i, static_cast<std::uint16_t>(std::lround(reaches)), now});
    }
}

void RigModel::happen(HostTime now, const Level& level) {
    if (!running_) return;
    loudest_[level.pad] = std::max(loudest_[level.pad], level.level);
    if (const auto closes = pads_.level(now, level.struck, level.pad, level.level)) agenda_.add(*closes, CloseBlows{});
}

void RigModel::happen(HostTime now, const CloseBlows&) {
    std::vector<Blow> blows;
    pads_.close(now, blows);
    for (const Blow& blow : blows) {
        wire_message hit = message_of(WIRE_PAD_HIT);
        hit.time = clock_.ticks_at(blow.crossed);
        hit.as.pad_hit = {static_cast<std::uint8_t>(blow.pad), blow.peak, blow.echoes};
        register_event(now, blow.struck, hit);
    }
}

void RigModel::happen(HostTime now, const Body& body) {
    if (!gates_.block(body.gate, body.bodies)) return;
    const bool dark = gates_.blocked(body.gate);
    const bool flickers = body_.chance(settings_.bounce);
    const Duration first(std::llround(body_.uniform(100e3, 500e3)));
    const Duration second(std::llround(body_.uniform(50e3, 400e3)));
    if (!running_) return;
    gate_changed(now, gates_.edge(now, body.gate, dark));
    if (!flickers) return;
    agenda_.add(now + first, Flicker{body.gate, false});
    agenda_.add(now + first + second, Flicker{body.gate, true});
}

void RigModel::happen(HostTime now, const Flicker& flicker) {
    // Against what the bodies make of it, and back to that, whatever they did meanwhile.
    const bool dark = gates_.blocked(flicker.gate) == flicker.settles;
    if (running_) gate_changed(now, gates_.edge(now, flicker.gate, dark));
}

void RigModel::happen(HostTime now, const Unlock& unlock) { gate_changed(now, gates_.unlock(now, unlock.gate)); }

void RigModel::gate_changed(HostTime now, const std::optional<GateChange>& change) {
    if (!change) return;
    const Duration late(std::llround(firmware_.unit() * static_cast<double>(settings_.gate.jitter.count())));
    wire_message event = message_of(change->broken ? WIRE_GATE_BROKEN : WIRE_GATE_RESTORED);
    event.time = clock_.ticks_at(change->at + late);
    event.as.gate.gate = static_cast<std::uint8_t>(change->gate);
    register_event(now, change->at, event);
    agenda_.add(gates_.lock_ends(change->gate), Unlock{change->gate});
}

void RigModel::happen(HostTime now, const SoundEdge& edge) {
    if (!running_) return;
    if (!edge.rising) {
        agenda_.add(now + sound_gap, SoundOver{edge.end});
        return;
    }
    wire_message event = message_of(WIRE_SYNC_EDGE);
    event.time = clock_.ticks_at(now);
    event.as.sync.rising = 1;
    register_event(now, now, event);
}

void RigModel::happen(HostTime now, const SoundOver& over) {
    wire_message event = message_of(WIRE_SYNC_EDGE);
    event.time = clock_.ticks_at(over.end);
    register_event(now, over.end, event);
}

// ---- lamps, replies, levels -----------------------------------------------------------------------------------------

void RigModel::happen(HostTime now, const CarryOut&) {
    while (const auto order = lamps_.carry_out(clock_.ticks_at(now))) {
        if (ailment_.silent) continue;
        lamps_changed(now);
        wire_message event = message_of(WIRE_LAMPS_SET);
        event.time = clock_.ticks_at(now);
        event.as.lamp = {order->id, lamps_.lit(), 0};
        register_event(now, now, event);
    }
}

void RigModel::lamps_changed(HostTime now) {
    std::uint8_t roles = 0;
    for (std::size_t i = 0; i < settings_.lamps.size(); ++i)
        if ((lamps_.lit() >> i & 1) != 0)
            roles = static_cast<std::uint8_t>(roles | 1U << static_cast<unsigned>(settings_.lamps[i]));
    if (roles == roles_lit_) return;
    roles_lit_ = roles;
    lamp_changes_.push_back({now, roles});
}

void RigModel::happen(HostTime now, const Reply& reply) {
    if (line_free_ > now) {  // nothing may wait ahead of the reply when it is stamped
        agenda_.add(line_free_, reply);
        return;
    }
    --replies_waiting_;
    wire_message message = message_of(WIRE_PING_REPLY);
    message.as.ping_reply = {reply.id, boot_, reply.received, clock_.ticks_at(now), ring_.newest()};
    send(now, message);
}

void RigModel::happen(HostTime now, const SendLevels&) {
    if (!levels_on_) return;
    for (std::size_t i = 0; i < settings_.pads.size(); ++i) {
        const auto noise = static_cast<std::uint16_t>(3 + firmware_.below(3));
        const auto quiet = static_cast<std::uint16_t>(noise + firmware_.below(6));
        wire_message level = message_of(WIRE_PAD_LEVEL);
        level.as.pad_level = {clock_.ticks_at(now), static_cast<std::uint8_t>(i), std::max(quiet, loudest_[i]), noise};
        loudest_[i] = 0;
        send(now, level);
    }
    agenda_.add(now + levels_period, SendLevels{});
}

// ---- observers ------------------------------------------------------------------------------------------------------

void RigModel::take_lamp_changes(std::vector<LampChange>& out) {
    out.insert(out.end(), lamp_changes_.begin(), lamp_changes_.end());
    lamp_changes_.clear();
}

void RigModel::take_truths(std::vector<RigTruth>& out) {
    out.insert(out.end(), truths_.begin(), truths_.end());
    truths_.clear();
}

void RigModel::take_released(std::vector<RigReleased>& out) {
    out.insert(out.end(), released_.begin(), released_.end());
    released_.clear();
}

std::uint16_t RigModel::counter(wire_counter which) const {
    if (which == WIRE_COUNT_GATE_BOUNCES)
        return static_cast<std::uint16_t>(std::min<std::uint64_t>(65535, gates_.bounces()));
    return counters_[which];
}

}  // namespace breakstep
