#include "devices/simulated/crystal_clock.hpp"

#include <cmath>

#include "wire/wire.h"

namespace breakstep {
namespace {

constexpr double two_pi = 6.283185307179586476925286766559;
constexpr double tick_ns = WIRE_TICK_NS;

}  // namespace

double CrystalClock::rig_ns(double true_ns) const {
    const double period = static_cast<double>(settings_.wander_period.count());
    const double angle = two_pi * true_ns / period + settings_.wander_phase;
    const double wander =
        settings_.wander_ppm * 1e-6 * period / two_pi * (std::sin(angle) - std::sin(settings_.wander_phase));
    return true_ns + true_ns * settings_.drift_ppm * 1e-6 + wander;
}

std::uint64_t CrystalClock::ticks_at(HostTime time) const {
    if (time <= boot_) return 0;
    const double ns = rig_ns(static_cast<double>((time - boot_).count()));
    return static_cast<std::uint64_t>(ns / tick_ns);
}

HostTime CrystalClock::time_of(std::uint64_t ticks) const {
    // The rate is within 1e-3 of 1, so that each step leaves a thousandth of the error; the end is found by counting.
    const double wanted = static_cast<double>(ticks) * tick_ns;
    double guess = wanted;
    for (int i = 0; i < 6; ++i) guess -= rig_ns(guess) - wanted;
    HostTime time = boot_ + Duration(std::llround(guess));
    while (time > boot_ && ticks_at(time - 1ns) >= ticks) time -= 1ns;
    while (ticks_at(time) < ticks) time += 1ns;
    return time;
}

}  // namespace breakstep
