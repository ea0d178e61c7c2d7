// The truth that no program under test may see: the board's cycles against the host's time, and how far a host's
// conversion was off. Plain values; any thread.
#pragma once

#include <cstdint>

#include "core/time.hpp"
#include "truth/board_process.hpp"

namespace breakstep::tests {

/// A crystal that is `drift` (a fraction) too fast, started at `begin` of the host's clock.
class TrueTime {
  public:
    TrueTime(HostTime begin, double drift) : begin_(begin), cycles_per_ns_(16e-3 * (1 + drift)) {}

    [[nodiscard]] std::uint64_t cycle_at(HostTime time) const {
        return time <= begin_
                   ? 0
                   : static_cast<std::uint64_t>(static_cast<double>((time - begin_).count()) * cycles_per_ns_);
    }
    [[nodiscard]] HostTime time_of(std::uint64_t cycle) const {
        return begin_ + Duration(static_cast<std::int64_t>(static_cast<double>(cycle) / cycles_per_ns_ + 0.5));
    }
    /// Rounded up: not before that cycle.
    [[nodiscard]] std::uint64_t cycle_not_before(HostTime time) const { return cycle_at(time) + 1; }

  private:
    HostTime begin_;
    double cycles_per_ns_;
};

/// Microseconds of the rig's own time between two cycles.
[[nodiscard]] inline double rig_us(std::uint64_t from, std::uint64_t to) {
    return (static_cast<double>(to) - static_cast<double>(from)) / cycles_per_us;
}

}  // namespace breakstep::tests
