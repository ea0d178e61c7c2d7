// Descriptions of a list of intervals, choices or bits, for the details of results. None of them is a verdict: watched
// while a drill runs, or at another pace, tests of a fixed threshold raise 20 to 90 % false alarms. The tempo and
// choice tests speak; these only describe.
//
// Pure functions over a caller's values; any thread; no result (nullopt) where the list is too short or has no spread.
// Bits are 0 and 1 (any other value counts as 1). Intervals in any unit, above 0.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>

namespace breakstep::reading {

/// Probability of a sequence with these counts of each symbol under the estimator of Krichevsky & Trofimov (1981).
[[nodiscard]] double krichevsky_trofimov(std::span<const std::uint64_t> counts, double alpha);

/// Entropy in bits of the order patterns of `order` successive values (Bandt & Pompe 2002); 2 <= order <= 5. Equal
/// values count as rising.
[[nodiscard]] std::optional<double> permutation_entropy(std::span<const double> values, std::size_t order);

/// Local variation (Shinomoto 2003): 3 / (n - 1) sum ((a - b) / (a + b))^2 over neighbours. 0 for a metronome, 1 for a
/// memoryless sequence, 3 / (2 k + 1) for gamma intervals of shape k.
[[nodiscard]] std::optional<double> local_variation(std::span<const double> intervals);

/// NIST SP 800-22: p-values.
[[nodiscard]] std::optional<double> frequency_p(std::span<const std::uint8_t> bits);
/// nullopt also where the share of ones is too far from a half for the test.
[[nodiscard]] std::optional<double> runs_p(std::span<const std::uint8_t> bits);
struct SerialP {
    double first;
    double second;
};
/// `block` is m, 2 .. 16.
[[nodiscard]] std::optional<SerialP> serial_p(std::span<const std::uint8_t> bits, std::size_t block);
[[nodiscard]] std::optional<double> approximate_entropy_p(std::span<const std::uint8_t> bits, std::size_t block);

struct RunsTest {
    std::size_t runs;
    double z;
    double p;  ///< two-sided
};
/// Wald & Wolfowitz 1940, normal approximation.
[[nodiscard]] std::optional<RunsTest> wald_wolfowitz(std::span<const std::uint8_t> bits);

struct Rayleigh {
    double length;        ///< of the mean vector, 0 .. 1
    double mean_degrees;  ///< 0 .. 360
    double p;             ///< of uniform directions (Zar 1999, from memory)
};
[[nodiscard]] std::optional<Rayleigh> rayleigh(std::span<const double> degrees);

/// Wing & Kristofferson 1973: the variance of intervals split into an inner clock and the limb that carries it out.
struct ClockAndMotor {
    double clock_deviation;
    double motor_deviation;
    double lag_one;  ///< correlation of neighbours, between -0.5 and 0 where the model holds
};
/// From the autocovariances at lag 0 and 1; nullopt outside the model (lag one positive, or below -variance / 2).
[[nodiscard]] std::optional<ClockAndMotor> wing_kristofferson(double variance, double lag_one_covariance);
[[nodiscard]] std::optional<ClockAndMotor> wing_kristofferson(std::span<const double> intervals);

}  // namespace breakstep::reading
