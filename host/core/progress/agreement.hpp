// How far a measure repeats itself, and from where on a change is more than that.
//
// Reliable change: Jacobson & Truax 1991. Intraclass correlation and standard error of measurement: Shrout & Fleiss
// 1979, Weir 2005. Pure; any thread. Multiplier 1.96, as these authors print it.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

namespace breakstep::progress {

struct ReliableChange {
    double index = 0;   ///< (after - before) over the standard error of a difference
    double needed = 0;  ///< the least change that is reliable at 95 %
};
/// `standard_deviation` over people, above 0; `reliability` in [0, 1); nullopt outside.
[[nodiscard]] std::optional<ReliableChange> reliable_change(double standard_deviation, double reliability,
                                                            double before, double after);

/// How well two judges agree beyond luck: Cohen's kappa (1960), its interval by Fleiss, Cohen & Everitt (1969,
/// Psychological Bulletin 72, 323-327).
struct Kappa {
    std::uint64_t agreed = 0, of = 0;
    double by_chance = 0;  ///< so many would agree by luck, each judge's own shares given
    double kappa = 0, low = 0, high = 0;
};
/// `counts[i][j]`: the one said i, the other j. nullopt under fewest_for_kappa, and where luck alone would agree in
/// all.
inline constexpr std::uint64_t fewest_for_kappa = 20;
using Calls = std::array<std::array<std::uint64_t, 3>, 3>;
[[nodiscard]] std::optional<Kappa> kappa(const Calls& counts);

struct Repeatability {
    double icc_agreement = 0;       ///< ICC(2,1): any trial by any trial
    double icc_consistency = 0;     ///< ICC(3,1): these trials, their means aside
    double error = 0;               ///< standard error of measurement, in the measure's unit
    double minimal_difference = 0;  ///< 1.96 sqrt(2) error: a smaller one may be the measure's own
};
/// `trials` of the same people in the same order. nullopt under two trials or two people, for trials of different
/// lengths and where all values are equal.
[[nodiscard]] std::optional<Repeatability> repeatability(std::span<const std::vector<double>> trials);

}  // namespace breakstep::progress
