// When the next frame will be seen. Learns from the times at which frames were presented whether presenting waits for
// the screen, and how long a frame lasts; no flag of a driver is believed.
//
// Pure: times are handed in, none is read. Owned by the window, main thread. Never fails.
#pragma once

#include <array>
#include <cstddef>

#include "core/time.hpp"

namespace breakstep {

class Cadence {
  public:
    static constexpr Duration sixtieth{16'666'667};
    static constexpr std::size_t warm_up_frames = 24;

    /// A frame meant for `expected` was presented `at`. `follows_directly`: the one before was presented too, not
    /// skipped, so that the time between them says something. The first warm_up_frames of those decide whether
    /// presenting waits.
    void presented(HostTime at, HostTime expected, bool follows_directly);
    /// A frame that was still and not presented.
    void skipped(HostTime at) { last_ = at; }

    [[nodiscard]] bool warm() const { return count_ >= warm_up_frames; }
    /// True: presenting waits for the screen. False: whoever draws must wait until expected() and then present.
    [[nodiscard]] bool waits() const { return waits_; }
    [[nodiscard]] Duration period() const { return waits_ ? period_ : sixtieth; }
    /// When the frame now to be drawn will be seen.
    [[nodiscard]] HostTime expected(HostTime now) const;

  private:
    void learn(Duration interval);
    [[nodiscard]] Duration median() const;

    std::array<Duration, 61> intervals_{};
    std::size_t count_ = 0;
    HostTime last_{};            // the frame's time on its own grid
    HostTime last_presented_{};  // when it really was done
    Duration period_ = sixtieth;
    bool waits_ = false;
    int too_early_ = 0;
};

}  // namespace breakstep
