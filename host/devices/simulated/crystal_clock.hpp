// The clock of a simulated rig against true time: counts half microseconds from the boot, at a rate that is off by a
// constant and wanders slowly, as a crystal does with its temperature.
//
// In the models HostTime stands for true time; a fast driver's virtual host clock is true. Pure; a value; any thread.
// Rig ns after x true ns: x (1 + drift) + wander P / 2 pi (sin(2 pi x / P + phase) - sin(phase)).
#pragma once

#include <cstdint>

#include "core/time.hpp"

namespace breakstep {

struct CrystalClockSettings {
    double drift_ppm = 0;           ///< -300 .. 300; above 0 the rig runs fast
    double wander_ppm = 0.3;        ///< amplitude of the slow change of rate; 0.3 at 180 s changes by 0.01 ppm/s
    Duration wander_period = 180s;  ///< above 0
    double wander_phase = 0;        ///< radians
};

class CrystalClock {
  public:
    CrystalClock(const CrystalClockSettings& settings, HostTime boot) : settings_(settings), boot_(boot) {}

    /// Ticks of WIRE_TICK_NS since the boot, rounded down; 0 before it.
    [[nodiscard]] std::uint64_t ticks_at(HostTime time) const;
    /// The first true nanosecond at which ticks_at() is at least `ticks`.
    [[nodiscard]] HostTime time_of(std::uint64_t ticks) const;
    [[nodiscard]] HostTime boot() const { return boot_; }

  private:
    [[nodiscard]] double rig_ns(double true_ns) const;

    CrystalClockSettings settings_;
    HostTime boot_;
};

}  // namespace breakstep
