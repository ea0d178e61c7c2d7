// The host's side of a conversation with a RigModel, message by message, for tests. Time is handed in; bytes go across
// at once, without a line between.
#pragma once

#include <doctest/doctest.h>

#include <array>
#include <cstdint>
#include <span>
#include <vector>

#include "core/time.hpp"
#include "devices/simulated/rig_model.hpp"

namespace breakstep::testing {

inline HostTime at(Duration since_start) { return HostTime(100s) + since_start; }

inline wire_message message_of(std::uint8_t type) {
    wire_message message{};
    message.type = type;
    return message;
}

class RigHost {
  public:
    explicit RigHost(const RigSettings& settings = {}) : rig(settings, at(0s)) { run_to(0s); }

    /// Lets the rig do what is due up to then, each thing at its own time.
    void run_to(Duration since_start) {
        while (rig.next_due() && *rig.next_due() <= at(since_start)) {
            rig.due(*rig.next_due());
            receive();
        }
        now = since_start;
    }
    void send(const wire_message& message) {
        std::array<std::uint8_t, WIRE_FRAME_MAX> frame{};
        const std::size_t size = wire_encode_frame(&message, frame.data());
        REQUIRE(size > 0);
        send_bytes({frame.data(), size});
    }
    void send_bytes(std::span<const std::uint8_t> bytes) {
        rig.bytes(at(now), bytes);
        receive();
    }
    void acknowledge(std::uint16_t through, std::uint32_t boot = 0) {
        wire_message message = message_of(WIRE_ACKNOWLEDGE);
        message.as.acknowledge = {boot != 0 ? boot : boot_id(), through};
        send(message);
    }
    void resend(std::uint16_t first, std::uint8_t count) {
        wire_message message = message_of(WIRE_RESEND);
        message.as.resend = {boot_id(), first, count};
        send(message);
    }
    void order(std::uint16_t id, std::uint64_t ticks, std::uint8_t affected, std::uint8_t lit) {
        wire_message message = message_of(WIRE_LAMP_ORDER);
        message.as.lamp_order = {boot_id(), id, ticks, affected, lit};
        send(message);
    }
    void cancel(std::uint16_t id) {
        wire_message message = message_of(WIRE_LAMP_CANCEL);
        message.as.lamp_cancel = {boot_id(), id};
        send(message);
    }
    [[nodiscard]] std::uint32_t boot_id() const { return static_cast<std::uint32_t>(rig.boot()); }

    /// Takes everything received so far.
    std::vector<wire_message> take() { return std::exchange(received, {}); }
    /// Takes everything received so far, and gives those of one type.
    std::vector<wire_message> take(std::uint8_t type) {
        std::vector<wire_message> found;
        for (const wire_message& message : take())
            if (message.type == type) found.push_back(message);
        return found;
    }

    RigModel rig;
    Duration now{};
    std::vector<wire_message> received;

  private:
    void receive() {
        std::vector<std::uint8_t> bytes;
        rig.drain(bytes);
        wire_message message{};
        for (const std::uint8_t byte : bytes) {
            const wire_received what = wire_receive(&receiver_, byte, &message);
            REQUIRE(what != WIRE_RECEIVED_DAMAGED);
            REQUIRE(what != WIRE_RECEIVED_UNKNOWN);
            if (what == WIRE_RECEIVED_MESSAGE) received.push_back(message);
        }
    }
    wire_receiver receiver_{};
};

}  // namespace breakstep::testing
