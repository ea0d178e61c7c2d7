#include "core/progress/summary.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>

#include "core/progress/distributions.hpp"
#include "core/reading/running_sum.hpp"

namespace breakstep::progress {
namespace {

using reading::RunningSum;

/// Sum of (x - m)^2 with the second-order correction of the two-pass formula: m itself was rounded.
double squares_about(std::span<const double> values, double middle) {
    RunningSum squares, rest;
    for (const double value : values) {
        const double difference = value - middle;
        squares.add(difference * difference);
        rest.add(difference);
    }
    return squares.value() - rest.value() * rest.value() / static_cast<double>(values.size());
}

}  // namespace

std::optional<double> mean(std::span<const double> values) {
    if (values.empty()) return std::nullopt;
    RunningSum sum;
    for (const double value : values) sum.add(value);
    return sum.value() / static_cast<double>(values.size());
}

std::optional<double> standard_deviation(std::span<const double> values) {
    if (values.size() < 2) return std::nullopt;
    const double squares = squares_about(values, *mean(values));
    return std::sqrt(std::max(squares, 0.0) / static_cast<double>(values.size() - 1));
}

std::optional<double> lag_1(std::span<const double> values) {
    // Equal values leave nothing but the rounding of their mean, which is no scatter.
    const bool all_equal = std::all_of(values.begin(), values.end(), [&](double v) { return v == values[0]; });
    if (values.size() < 2 || all_equal) return std::nullopt;
    const double middle = *mean(values);
    const double squares = squares_about(values, middle);
    if (!(squares > 0)) return std::nullopt;
    RunningSum products;
    for (std::size_t i = 1; i < values.size(); ++i) products.add((values[i] - middle) * (values[i - 1] - middle));
    return products.value() / squares;
}

std::optional<MedianRanks> median_ranks(std::size_t size) {
    constexpr double tail = 0.025;
    if (fair_coin_cumulative(0, size) > tail) return std::nullopt;
    // The greatest `below` with P(X <= below) <= tail; P grows with it, so halve.
    std::uint64_t below = 0, above = size / 2;
    while (above - below > 1) {
        const std::uint64_t middle = below + (above - below) / 2;
        (fair_coin_cumulative(middle, size) <= tail ? below : above) = middle;
    }
    return MedianRanks{below + 1, size - below, 1 - 2 * fair_coin_cumulative(below, size)};
}

std::optional<Median> median(std::vector<double> values) {
    if (values.empty()) return std::nullopt;
    std::sort(values.begin(), values.end());
    const std::size_t half = values.size() / 2;
    Median result;
    result.value = values.size() % 2 == 1 ? values[half] : values[half - 1] + (values[half] - values[half - 1]) / 2;
    if (const auto ranks = median_ranks(values.size())) {
        result.interval = Interval{values[ranks->low - 1], values[ranks->high - 1]};
        result.coverage = ranks->coverage;
    }
    return result;
}

}  // namespace breakstep::progress
