#include "core/reading/tight_bet.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace breakstep::reading {
namespace {

/// How much of the idle wealth is counted on top of the bets; the rest is only a floor. 1 would be the plain method's
/// sum, 0 would trust the bets alone; chosen on simulated drills.
constexpr double idle_added = 0.5;
/// The means are kept this much below 1, for rounding.
constexpr double safety = 1e-12;

/// Integral of h over [from, to] of ln D, from > ln r. h is D / (e (D - r)) up to where that falls to 0.845.
double bound_integral(double from, double to, double shortest) {
    constexpr double density_bound = 0.845;
    const double steepness = density_bound * std::numbers::e;
    const double turn = std::log(shortest * steepness / (steepness - 1.0));
    const double middle = std::clamp(turn, from, to);
    double sum = density_bound * (to - middle);
    if (middle > from) sum += std::log((std::exp(middle) - shortest) / (std::exp(from) - shortest)) / std::numbers::e;
    return sum;
}

}  // namespace

void TightBet::lay(double shortest, double high) {
    // The top goes up in steps, so that most intervals of a drill find their bins laid already.
    constexpr double step = 0.25;
    const double low = std::log(shortest);
    const double range = std::max(std::ceil((high - low) / step), 1.0) * step;
    if (laid_for_ == shortest && width_ * static_cast<double>(bins) == range) return;
    laid_for_ = shortest;
    low_ = low;
    width_ = range / static_cast<double>(bins);
    mass_[0] = 0;  // it touches the shortest interval, where h has no bound
    for (std::size_t b = 1; b < bins; ++b) {
        const double from = low_ + width_ * static_cast<double>(b);
        mass_[b] = bound_integral(from, from + width_, shortest);
    }
}

void TightBet::place(const Densities& wanted, double idle, double most) {
    Densities value{};
    ordered_ = 0;
    for (std::size_t b = 0; b < bins; ++b) {
        value[b] = mass_[b] > 0 ? std::max(idle, idle_added * idle + wanted[b] * width_ / mass_[b]) : idle;
        if (value[b] > idle) order_[ordered_++] = static_cast<std::uint16_t>(b);
    }
    std::sort(order_.begin(), order_.begin() + static_cast<std::ptrdiff_t>(ordered_),
              [&](std::uint16_t a, std::uint16_t b) { return value[a] != value[b] ? value[a] > value[b] : a < b; });

    Densities filled;  // probability that the worst case puts into the bins, in order
    double left = 1.0;
    double mean = 0;
    for (std::size_t i = 0; i < ordered_; ++i) {
        filled[i] = std::min(mass_[order_[i]], left);
        left -= filled[i];
        mean += filled[i] * value[order_[i]];
    }
    mean += left * idle;

    // The best paid are capped one after the other until the scale leaves the next below the cap.
    double scale = (1.0 - safety) / mean;
    double capped = 0;
    for (std::size_t i = 0; i < ordered_ && scale * value[order_[i]] > most; ++i) {
        capped += filled[i];
        mean -= filled[i] * value[order_[i]];
        if (capped * most >= 1.0 || mean <= 0) break;
        scale = (1.0 - safety - capped * most) / mean;
    }
    for (std::size_t b = 0; b < bins; ++b) payoff_[b] = std::min(most, scale * value[b]);
    floor_ = std::min(most, scale * idle);
}

std::size_t TightBet::bin_at(double logarithm) const {
    const double place = (logarithm - low_) / width_;
    return place <= 0 ? 0 : std::min(static_cast<std::size_t>(std::min(place, 1e6)), bins - 1);
}

double TightBet::multiplier(double logarithm) const {
    const double place = (logarithm - low_) / width_;
    if (!(place >= 0) || place >= static_cast<double>(bins)) return floor_;
    return payoff_[static_cast<std::size_t>(place)];
}

double TightBet::multiplier_beyond(double logarithm) const {
    double filled = 0;
    double paid = 0;
    double later = 1.0 - safety;
    for (std::size_t i = 0; i < ordered_; ++i) {
        const std::size_t bin = order_[i];
        if (low_ + width_ * static_cast<double>(bin) > logarithm) continue;
        if (payoff_[bin] <= later) break;
        const double mass = std::min(mass_[bin], 1.0 - filled);
        filled += mass;
        paid += mass * payoff_[bin];
        if (filled >= 1.0 - safety) return floor_;
        later = (1.0 - safety - paid) / (1.0 - filled);
    }
    return std::max(later, floor_);
}

}  // namespace breakstep::reading
