// A USB serial adapter between host and board, in simulated time: bytes wait for the bus's next millisecond, or for the
// adapter's latency timer of 16 ms (or for 62 bytes); the host is now and then late to fetch them; bytes are damaged at
// a chosen rate. Seeded; one owner; single thread; cannot fail.
#pragma once

#include <cstdint>
#include <deque>
#include <optional>
#include <vector>

#include "core/random.hpp"
#include "core/time.hpp"

namespace breakstep::tests {

struct UsbLineSettings {
    bool slow_latency_timer = false;  ///< 16 ms instead of 1
    double damage = 0;                ///< share of bytes changed on the way, each way
};

class UsbLine {
  public:
    UsbLine(const UsbLineSettings& settings, std::uint64_t seed) : settings_(settings), random_(seed, 77) {}

    struct Chunk {
        HostTime at;
        std::vector<std::uint8_t> bytes;
    };

    /// A byte of the rig had come in at the adapter at `ended`; in order.
    void from_rig(HostTime ended, std::uint8_t value);
    /// When the next chunk reaches the host.
    [[nodiscard]] std::optional<HostTime> next_due() const;
    Chunk take();

    /// The host writes at `now`: when the first byte begins on the serial line. Bytes are damaged in place.
    HostTime to_rig(HostTime now, std::vector<std::uint8_t>& bytes);

    [[nodiscard]] std::uint64_t damaged() const { return damaged_; }

  private:
    [[nodiscard]] static HostTime next_tick(HostTime time, Duration period);
    [[nodiscard]] Duration lateness();
    void damage(std::uint8_t& value);

    UsbLineSettings settings_;
    Random random_;
    std::deque<Chunk> chunks_;
    HostTime tick_{};  ///< of the newest chunk, while it may still grow
    bool growing_ = false;
    HostTime last_arrival_{}, last_begun_{};
    std::uint64_t damaged_ = 0;
};

}  // namespace breakstep::tests
