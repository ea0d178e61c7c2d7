// Shift and trend by ranks: they ask nothing of the law of the figures, and one odd evening does not move them.
//
// Hodges-Lehmann (1963) with the intervals of Wilcoxon's signed rank and rank sum; Mann-Kendall (1945, Kendall 1975)
// with the variance for ties in both; Theil-Sen (Sen 1968) with Sen's interval. Pure; any thread; too few values give
// nullopt.
#pragma once

#include <optional>
#include <span>

#include "core/progress/summary.hpp"

namespace breakstep::progress {

struct Shift {
    double estimate = 0;
    Interval interval;    ///< 95 %; the widest there is where few values don't reach that
    double coverage = 0;  ///< of the interval, exact without ties under 50 values, else by the normal law
};

/// The middle of paired differences (one-sample Hodges-Lehmann): the median of all pairwise means. `rank_sum` is
/// Wilcoxon's V, over differences that are not zero, ties sharing their rank.
struct PairedShift : Shift {
    double rank_sum = 0;
};
/// nullopt without differences. Work grows with the square of the number: up to some thousands.
[[nodiscard]] std::optional<PairedShift> shift_of(std::span<const double> differences);
/// How much `after` lies above `before` (two samples): the median of all differences. nullopt where one is empty.
[[nodiscard]] std::optional<Shift> shift_between(std::span<const double> before, std::span<const double> after);

struct MannKendall {
    double score = 0;     ///< S: pairs that rise less pairs that fall
    double variance = 0;  ///< of S without a trend, ties allowed for
    double z = 0;         ///< with the continuity correction; 0 where S = 0
    double p = 1;         ///< two-sided
};
struct TheilSen {
    double slope = 0;   ///< per unit of x
    Interval interval;  ///< 95 %
};

/// x and y of the same length; pairs at the same x say nothing. nullopt under three values or where every x or every y
/// is the same.
[[nodiscard]] std::optional<MannKendall> mann_kendall(std::span<const double> x, std::span<const double> y);
/// nullopt under three values or where every x is the same.
[[nodiscard]] std::optional<TheilSen> theil_sen(std::span<const double> x, std::span<const double> y);

}  // namespace breakstep::progress
