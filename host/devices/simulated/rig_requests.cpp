// What the simulated rig does with each message of the host.
#include <algorithm>
#include <cmath>

#include "devices/simulated/rig_model.hpp"

namespace breakstep {
namespace {

constexpr std::uint8_t replies_at_once = 8;  // PROTOCOL.md section 7: two at least

struct SettingRange {
    std::uint16_t lowest, highest;
};

// PROTOCOL.md section 12, by wire_setting.
SettingRange range_of(std::uint8_t key) {
    switch (key) {
        case WIRE_SETTING_PAD_THRESHOLD:
            return {1, 1023};
        case WIRE_SETTING_PAD_WINDOW:
            return {5, 200};
        case WIRE_SETTING_PAD_REFRACTORY:
            return {5, 500};
        case WIRE_SETTING_CROSSTALK:
            return {1, 20};
        default:
            return {0, 500};
    }
}

std::uint16_t* place_of(std::uint8_t key, std::uint8_t index, PadBench& pads, GateBench& gates,
                        std::size_t gate_count) {
    const bool is_pad = index < pads.tuning().size();
    switch (key) {
        case WIRE_SETTING_PAD_THRESHOLD:
            return is_pad ? &pads.tuning()[index].threshold : nullptr;
        case WIRE_SETTING_PAD_WINDOW:
            return is_pad ? &pads.tuning()[index].window : nullptr;
        case WIRE_SETTING_PAD_REFRACTORY:
            return is_pad ? &pads.tuning()[index].refractory_ms : nullptr;
        case WIRE_SETTING_CROSSTALK:
            return index == 0 ? &pads.crosstalk_ms() : nullptr;
        case WIRE_SETTING_GATE_DEBOUNCE:
            return index < gate_count ? &gates.debounce(index) : nullptr;
        default:
            return nullptr;
    }
}

}  // namespace

void RigModel::handle(HostTime now, const wire_message& message) {
    switch (message.type) {
        case WIRE_HELLO_REQUEST:
            levels_on_ = false;
            send_greeting(now);
            return;
        case WIRE_PING: {
            if (replies_waiting_ >= replies_at_once) return;
            ++replies_waiting_;
            const Duration wait(std::llround(firmware_.uniform(0, 2e6)));
            agenda_.add(now + wait, Reply{message.as.ping.id, clock_.ticks_at(now)});
            return;
        }
        case WIRE_ACKNOWLEDGE:
            return handle_acknowledge(now, message);
        case WIRE_RESEND:
            return handle_resend(now, message);
        case WIRE_LAMP_ORDER:
            return handle_order(now, message);
        case WIRE_LAMP_CANCEL:
            return handle_cancel(now, message);
        case WIRE_SETTING_SET:
        case WIRE_SETTING_GET:
            return handle_setting(now, message);
        case WIRE_COUNTERS_REQUEST: {
            wire_message counters{};
            counters.type = WIRE_COUNTERS;
            for (std::size_t i = 0; i < WIRE_COUNTERS_SIZE; ++i)
                counters.as.counters.values[i] = counter(static_cast<wire_counter>(i));
            send(now, counters);
            return;
        }
        case WIRE_LEVELS:
            return handle_levels(now, message.as.levels.on != 0);
        default:  // the rig's own direction, an echo perhaps: PROTOCOL.md section 15, skip
            return;
    }
}

void RigModel::handle_acknowledge(HostTime now, const wire_message& message) {
    if (message.as.acknowledge.boot != boot_) return;
    leave_ = true;
    ring_.acknowledge(message.as.acknowledge.through);
    const RigReleased released{now, BootId{boot_}, message.as.acknowledge.through};
    if (released_.empty() || released_.back().boot != released.boot || released_.back().through != released.through)
        released_.push_back(released);
}

void RigModel::handle_resend(HostTime now, const wire_message& message) {
    const auto& asked = message.as.resend;
    if (asked.boot != boot_ || !leave_) return;
    std::vector<wire_message> found;
    if (const auto gone = ring_.find(asked.first, asked.count, found)) {
        wire_message overwritten{};
        overwritten.type = WIRE_OVERWRITTEN;
        overwritten.as.overwritten = {gone->first, gone->last};
        send(now, overwritten);
    }
    for (const wire_message& event : found) {
        send(now, event);
        if (counters_[WIRE_COUNT_RESENT] < 65535) ++counters_[WIRE_COUNT_RESENT];
    }
}

void RigModel::handle_order(HostTime now, const wire_message& message) {
    const auto& asked = message.as.lamp_order;
    if (asked.boot != boot_) return;
    const LampOrder order{asked.order, asked.at, asked.affected, asked.lit};
    const LampBook::Decision decision = lamps_.order(order, clock_.ticks_at(now));
    switch (decision.answer) {
        case LampBook::Answer::ignored:
        case LampBook::Answer::refused_before:
            return;
        case LampBook::Answer::refused: {
            wire_message refused{};
            refused.type = WIRE_LAMP_REFUSED;
            refused.time = clock_.ticks_at(now);
            refused.as.lamp = {asked.order, 0, decision.reason};
            register_event(now, now, refused);
            return;
        }
        case LampBook::Answer::accepted:
            agenda_.add(clock_.time_of(order.at) + ailment_.late, CarryOut{});
            break;
        case LampBook::Answer::accepted_before:
            break;
    }
    wire_message accepted{};
    accepted.type = WIRE_LAMP_ACCEPTED;
    accepted.as.lamp_accepted = {boot_, asked.order};
    send(now, accepted);
}

void RigModel::handle_cancel(HostTime now, const wire_message& message) {
    if (message.as.lamp_cancel.boot != boot_) return;
    for (const std::uint16_t id : lamps_.cancel(message.as.lamp_cancel.order)) {
        wire_message cancelled{};
        cancelled.type = WIRE_LAMP_CANCELLED;
        cancelled.time = clock_.ticks_at(now);
        cancelled.as.lamp.order = id;
        register_event(now, now, cancelled);
    }
}

void RigModel::handle_setting(HostTime now, const wire_message& message) {
    const auto& asked = message.as.setting;
    wire_message answer{};
    answer.type = WIRE_SETTING_VALUE;
    answer.as.setting = {asked.key, asked.index, WIRE_SETTING_OK, 0};
    if (std::uint16_t* const place = place_of(asked.key, asked.index, pads_, gates_, settings_.gates.size())) {
        const SettingRange range = range_of(asked.key);
        const bool in_range = asked.value >= range.lowest && asked.value <= range.highest;
        if (message.type == WIRE_SETTING_SET && in_range) *place = asked.value;
        if (message.type == WIRE_SETTING_SET && !in_range) answer.as.setting.status = WIRE_SETTING_OUT_OF_RANGE;
        answer.as.setting.value = *place;
    } else {
        answer.as.setting.status = WIRE_SETTING_UNKNOWN;
    }
    send(now, answer);
}

void RigModel::handle_levels(HostTime now, bool on) {
    if (on && !levels_on_) {
        std::fill(loudest_.begin(), loudest_.end(), std::uint16_t{0});
        agenda_.add(now + 50ms, SendLevels{});
    }
    levels_on_ = on;
}

}  // namespace breakstep
