#include "wire_host.hpp"

#include <algorithm>
#include <array>

namespace breakstep::tests {

wire_message message_of(std::uint8_t type) {
    wire_message message{};
    message.type = type;
    return message;
}

WireHost::WireHost(std::uint64_t seed, const std::string& memory) : board({seed, memory, false, 0}) {}

std::uint64_t WireHost::send(const wire_message& message, std::uint64_t at) {
    std::array<std::uint8_t, WIRE_FRAME_MAX> frame{};
    const std::size_t size = wire_encode_frame(&message, frame.data());
    const std::uint64_t begins = std::max({at, board.cycle(), line_free_});
    board.bytes(begins, frame.data(), size);
    line_free_ = begins + size * cycles_per_byte;
    return line_free_;
}

void WireHost::take_bytes() {
    for (const BoardByte& byte : board.take_sent()) {
        if (frame_.empty()) frame_begun_ = byte.cycle;
        frame_.push_back(byte.value);
        wire_message message{};
        const wire_received what = wire_receive(&receiver_, byte.value, &message);
        if (what == WIRE_RECEIVED_DAMAGED || what == WIRE_RECEIVED_UNKNOWN) ++damaged;
        if (what == WIRE_RECEIVED_MESSAGE)
            heard.push_back({frame_begun_, byte.cycle + cycles_per_byte, frame_, message});
        if (byte.value == 0) frame_.clear();
    }
}

void WireHost::run_until(std::uint64_t cycle) {
    while (board.cycle() < cycle) {
        board.run(cycle);
        take_bytes();
    }
}

void WireHost::run_for(double ms) { run_until(board.cycle() + static_cast<std::uint64_t>(ms * cycles_per_ms)); }

std::optional<Heard> WireHost::wait_for(std::uint8_t type, double ms,
                                        const std::function<bool(const wire_message&)>& wanted) {
    const std::uint64_t limit = board.cycle() + static_cast<std::uint64_t>(ms * cycles_per_ms);
    std::size_t seen = heard.size();
    for (;;) {
        for (; seen < heard.size(); ++seen) {
            if (heard[seen].message.type == type && (!wanted || wanted(heard[seen].message))) return heard[seen];
        }
        if (board.cycle() >= limit) return std::nullopt;
        board.run(limit);
        take_bytes();
    }
}

wire_message WireHost::connect() {
    const auto hello = wait_for(WIRE_HELLO, 2000);
    if (!hello) return {};
    boot_ = hello->message.as.hello.boot;
    wait_for(WIRE_SNAPSHOT, 100);
    acknowledge(hello->message.as.hello.newest);
    run_for(2);
    return hello->message;
}

void WireHost::acknowledge(std::uint16_t through) {
    wire_message message = message_of(WIRE_ACKNOWLEDGE);
    message.as.acknowledge.boot = boot_;
    message.as.acknowledge.through = through;
    send(message);
}

std::optional<wire_message> WireHost::set(std::uint8_t key, std::uint8_t index, std::uint16_t value) {
    wire_message message = message_of(WIRE_SETTING_SET);
    message.as.setting = {key, index, 0, value};
    send(message);
    const auto answer = wait_for(WIRE_SETTING_VALUE, 100);
    return answer ? std::optional(answer->message) : std::nullopt;
}

std::optional<wire_message> WireHost::get(std::uint8_t key, std::uint8_t index) {
    wire_message message = message_of(WIRE_SETTING_GET);
    message.as.setting = {key, index, 0, 0};
    send(message);
    const auto answer = wait_for(WIRE_SETTING_VALUE, 100);
    return answer ? std::optional(answer->message) : std::nullopt;
}

std::vector<wire_message> WireHost::events() const {
    std::vector<wire_message> found;
    for (const Heard& one : heard) {
        if (wire_is_event(one.message.type)) found.push_back(one.message);
    }
    return found;
}

double WireHost::ticks_at(std::uint64_t cycle) const {
    return (static_cast<double>(cycle) - static_cast<double>(board.boots().back().clock_zero)) / cycles_per_tick;
}

}  // namespace breakstep::tests
