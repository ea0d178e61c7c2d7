#include "core/reading/law.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace breakstep::reading {

double inverse_bound(double interval, double shortest) {
    constexpr double density_bound = 0.845;
    if (interval <= shortest) return 0.0;
    return 1.0 / std::max(density_bound, interval / (std::numbers::e * (interval - shortest)));
}

double t9_density(double z) {
    const double base = 1.0 + z * z / 9.0;
    const double squared = base * base;
    return 0.3880349089 / (squared * squared * base);
}

double t9_above(double z) {
    const double angle = std::atan(z / 3.0);
    const double cosine = std::cos(angle);
    const double square = cosine * cosine;
    const double series = cosine * (1.0 + square * (2.0 / 3.0 + square * (8.0 / 15.0 + square * (16.0 / 35.0))));
    return 0.5 - (angle + std::sin(angle) * series) / std::numbers::pi;
}

double stake_for(double spread) { return 0.98 * std::clamp((0.40 - spread) / 0.25, 0.0, 1.0); }

double chance_of(double from, double to, double pace, double shortest) {
    const double rate = 1.0 / std::max(pace - shortest, 0.05);
    return std::exp(-rate * std::max(from - shortest, 0.0)) - std::exp(-rate * std::max(to - shortest, 0.0));
}

}  // namespace breakstep::reading
