#include "core/trade/staircase.hpp"

#include <algorithm>
#include <cmath>

#include "core/trade/rules.hpp"

namespace breakstep {
namespace {

double held(double window) { return std::clamp(window, window_narrowest, window_widest); }

}  // namespace

Staircase::Staircase(double share, double first)
    : share_(std::clamp(share, 0.5, 0.95)), window_(held(std::isfinite(first) ? first : window_widest)) {}

void Staircase::add(bool hit) {
    // As p / (1 - p) to each other, and no longer together for a share near 1: long steps would end at the widest.
    const double step = window_step * (hit ? -(1 - share_) : share_);
    window_ = held(window_ * std::exp(step));
}

double pace_after(double pace, double window, double share, std::int32_t hits, std::int32_t reps) {
    if (reps < reps_for_a_pace) return pace;
    const double rate = static_cast<double>(hits) / reps;
    const double stands = window_step / 2;
    if (window <= window_narrowest * (1 + stands) && rate >= share) return std::max(pace_fastest, pace * pace_step);
    if (window >= window_widest * (1 - stands) && rate < share) return std::min(pace_slowest, pace / pace_step);
    return pace;
}

}  // namespace breakstep
