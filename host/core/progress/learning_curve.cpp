#include "core/progress/learning_curve.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>

namespace breakstep::progress {
namespace {

struct AtRate {
    LearningCurve curve;
    double squares = std::numeric_limits<double>::infinity();
};

/// For one rate the other two are a straight line in exp(-rate N).
AtRate best_at(double rate, std::span<const double> practice, std::span<const double> values) {
    const auto n = static_cast<double>(values.size());
    double mean_e = 0, mean_y = 0;
    for (std::size_t i = 0; i < values.size(); ++i) {
        mean_e += std::exp(-rate * practice[i]) / n;
        mean_y += values[i] / n;
    }
    double e_squares = 0, products = 0;
    for (std::size_t i = 0; i < values.size(); ++i) {
        const double e = std::exp(-rate * practice[i]) - mean_e;
        e_squares += e * e;
        products += e * (values[i] - mean_y);
    }
    AtRate result;
    if (!(e_squares > 0)) return result;
    result.curve.rate = rate;
    result.curve.gain = products / e_squares;
    result.curve.final = mean_y - result.curve.gain * mean_e;
    result.squares = 0;
    for (std::size_t i = 0; i < values.size(); ++i) {
        const double rest = values[i] - result.curve.at(practice[i]);
        result.squares += rest * rest;
    }
    return result;
}

}  // namespace

double LearningCurve::at(double practice) const { return final + gain * std::exp(-rate * practice); }

std::optional<FittedCurve> fit_learning_curve(std::span<const double> practice, std::span<const double> values) {
    if (values.size() < 5 || practice.size() != values.size()) return std::nullopt;
    const auto [first, last] = std::minmax_element(practice.begin(), practice.end());
    const double span = *last - *first;
    if (!(span > 0)) return std::nullopt;
    // From a hundredth of the way to its end within the span to one that is over in a hundredth of it.
    const double low = std::log(0.01 / span), high = std::log(100 / span);
    constexpr int steps = 80;
    int best = 0;
    double least = std::numeric_limits<double>::infinity();
    for (int i = 0; i <= steps; ++i) {
        const double squares = best_at(std::exp(low + (high - low) * i / steps), practice, values).squares;
        if (squares < least) {
            least = squares;
            best = i;
        }
    }
    // Golden section between the neighbours of the best step.
    double left = low + (high - low) * std::max(best - 1, 0) / steps;
    double right = low + (high - low) * std::min(best + 1, steps) / steps;
    const double golden = (std::sqrt(5.0) - 1) / 2;
    for (int i = 0; i < 100; ++i) {
        const double a = right - golden * (right - left), b = left + golden * (right - left);
        if (best_at(std::exp(a), practice, values).squares <= best_at(std::exp(b), practice, values).squares)
            right = b;
        else
            left = a;
    }
    const AtRate found = best_at(std::exp((left + right) / 2), practice, values);
    FittedCurve result;
    result.curve = found.curve;
    result.residual = std::sqrt(found.squares / static_cast<double>(values.size() - 3));
    result.rate_unknown = best == 0 || best == steps;
    return result;
}

}  // namespace breakstep::progress
