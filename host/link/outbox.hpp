// Frames on their way out: encoded, named, and let go no faster than a serial line could carry them, also on a pty.
//
// Part of the link; its thread. Never blocks. When nobody drains it, it holds `frames_max` and drops the newest,
// counted.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <deque>
#include <optional>
#include <vector>

#include "core/time.hpp"
#include "wire/wire.h"

namespace breakstep {

/// Names a frame handed out by drain(), so that sent() can tell when its first byte was written.
enum class FrameId : std::uint32_t {};

struct OutFrame {
    FrameId id{};
    std::array<std::uint8_t, WIRE_FRAME_MAX> bytes{};
    std::uint8_t size = 0;
};

class Outbox {
  public:
    /// What is on its way and may still be dropped for `boot`'s end goes with clear().
    FrameId push(const wire_message& message);
    /// As push(), with a zero before it that ends whatever was under way on the line.
    FrameId push_first(const wire_message& message);
    void clear();

    /// Lets frames go: at most 16 in any 10 ms.
    void release(HostTime now);
    /// When release() can let more go; nullopt if nothing waits.
    [[nodiscard]] std::optional<HostTime> next_release() const;
    /// Moves what was let go to the end of `out`.
    void drain(std::vector<OutFrame>& out);

    [[nodiscard]] std::uint64_t dropped() const { return dropped_; }

  private:
    static constexpr std::size_t frames_max = 512;
    static constexpr std::size_t frames_per_span = 16;
    static constexpr Duration span = 10ms;

    FrameId push_frame(OutFrame frame);

    std::deque<OutFrame> waiting_;
    std::vector<OutFrame> ready_;
    /// When the last 16 were let go; the oldest at next_.
    std::array<std::optional<HostTime>, frames_per_span> released_{};
    std::size_t next_ = 0;
    std::uint32_t last_id_ = 0;
    std::uint64_t dropped_ = 0;
};

}  // namespace breakstep
