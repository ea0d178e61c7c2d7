// A host made of nothing but the wire library: sends messages to the simulated board and collects what comes back, with
// the cycle at which each frame's last byte had come in. It answers nothing by itself, so tests see the firmware alone.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "truth/board_process.hpp"
#include "wire/wire.h"

namespace breakstep::tests {

struct Heard {
    std::uint64_t begun = 0, ended = 0;  ///< cycles: the first byte began, the last had come in
    std::vector<std::uint8_t> frame;
    wire_message message{};
};

class WireHost {
  public:
    explicit WireHost(std::uint64_t seed = 1, const std::string& memory = "");

    BoardProcess board;
    std::vector<Heard> heard;
    std::uint64_t damaged = 0;

    /// Ends the frame at its last byte `at` or as soon after as the line allows; 0: from now. Returns the cycle of its
    /// end.
    std::uint64_t send(const wire_message& message, std::uint64_t at = 0);
    void run_for(double ms);
    void run_until(std::uint64_t cycle);
    /// Runs until a message of `type` comes that `wanted` likes; nullopt after `ms`.
    std::optional<Heard> wait_for(std::uint8_t type, double ms,
                                  const std::function<bool(const wire_message&)>& wanted = {});

    /// Waits for hello, asks for nothing, acknowledges `through`. Returns the hello.
    wire_message connect();
    void acknowledge(std::uint16_t through);
    /// Sets and waits for the answer.
    std::optional<wire_message> set(std::uint8_t key, std::uint8_t index, std::uint16_t value);
    std::optional<wire_message> get(std::uint8_t key, std::uint8_t index);
    [[nodiscard]] std::vector<wire_message> events() const;
    [[nodiscard]] std::uint32_t boot() const { return boot_; }
    /// The rig's clock at a cycle, in ticks.
    [[nodiscard]] double ticks_at(std::uint64_t cycle) const;

  private:
    void take_bytes();
    std::uint32_t boot_ = 0;
    std::uint64_t line_free_ = 0;
    wire_receiver receiver_{};
    std::vector<std::uint8_t> frame_;
    std::uint64_t frame_begun_ = 0;
};

/// A message of a type with everything else 0.
wire_message message_of(std::uint8_t type);

}  // namespace breakstep::tests
