// What a list of figures says in a few: mean, standard deviation, autocorrelation at lag 1, median with its exact
// interval.
//
// Sums are compensated (core/reading/running_sum.hpp) and taken about the mean, so that a large level does not eat the
// scatter: NIST's reference data sets come out to the last few digits of a double. Pure; any thread; too few values
// give nullopt.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

namespace breakstep::progress {

struct Interval {
    double low = 0, high = 0;
    bool operator==(const Interval&) const = default;
};

/// nullopt without values.
[[nodiscard]] std::optional<double> mean(std::span<const double> values);
/// Of a sample (n - 1); nullopt under two values.
[[nodiscard]] std::optional<double> standard_deviation(std::span<const double> values);
/// Sum of (x_i - m)(x_(i-1) - m) over the sum of (x_i - m)^2; nullopt under two values or where all are equal.
[[nodiscard]] std::optional<double> lag_1(std::span<const double> values);

/// Ranks (from 1) of the two order statistics that hold the median, and how often they do.
struct MedianRanks {
    std::size_t low = 0, high = 0;
    double coverage = 0;
};
/// The greatest low rank with P(Binomial(n, 1/2) < low) <= 2.5 %; nullopt under six values, where no pair of ranks
/// covers 95 %. Exact for any continuous law.
[[nodiscard]] std::optional<MedianRanks> median_ranks(std::size_t size);

struct Median {
    double value = 0;
    std::optional<Interval> interval;  ///< null under six values
    double coverage = 0;               ///< of the interval; at least .95
};
/// `values` are put in order; nullopt without any.
[[nodiscard]] std::optional<Median> median(std::vector<double> values);

}  // namespace breakstep::progress
