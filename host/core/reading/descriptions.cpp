#include "core/reading/descriptions.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <vector>

namespace breakstep::reading {
namespace {

/// Upper regularised incomplete gamma function Q(a, x) for a = k / 2: all that these tests ask for.
double gamma_above(std::size_t twice_a, double x) {
    double term;
    double sum;
    double a;
    if (twice_a % 2 == 0) {
        a = 1.0;
        term = std::exp(-x);
        sum = term;
    } else {
        a = 0.5;
        term = std::exp(-x) * 2.0 * std::sqrt(x / std::numbers::pi) / (2.0 * x);
        sum = std::erfc(std::sqrt(x));
        if (x == 0) return 1.0;
    }
    // Q(a + 1, x) = Q(a, x) + x^a exp(-x) / Gamma(a + 1).
    for (; 2.0 * a < static_cast<double>(twice_a) - 0.5; a += 1.0) {
        term *= x / a;
        sum += term;
    }
    return sum;
}

double ones_of(std::span<const std::uint8_t> bits) {
    return static_cast<double>(std::count_if(bits.begin(), bits.end(), [](std::uint8_t bit) { return bit != 0; }));
}

std::size_t runs_of(std::span<const std::uint8_t> bits) {
    std::size_t runs = 1;
    for (std::size_t i = 1; i < bits.size(); ++i) runs += (bits[i] != 0) != (bits[i - 1] != 0) ? 1 : 0;
    return runs;
}

/// How often each block of `length` bits stands in the list, read as a ring.
std::vector<double> block_counts(std::span<const std::uint8_t> bits, std::size_t length) {
    std::vector<double> counts(std::size_t{1} << length);
    for (std::size_t i = 0; i < bits.size(); ++i) {
        std::size_t block = 0;
        for (std::size_t j = 0; j < length; ++j) block = block * 2 + (bits[(i + j) % bits.size()] != 0 ? 1 : 0);
        counts[block] += 1.0;
    }
    return counts;
}

double psi_squared(std::span<const std::uint8_t> bits, std::size_t length) {
    if (length == 0) return 0.0;
    const auto n = static_cast<double>(bits.size());
    double squares = 0;
    for (const double count : block_counts(bits, length)) squares += count * count;
    return squares * std::ldexp(1.0, static_cast<int>(length)) / n - n;
}

double phi(std::span<const std::uint8_t> bits, std::size_t length) {
    double sum = 0;
    for (const double count : block_counts(bits, length)) {
        const double share = count / static_cast<double>(bits.size());
        if (share > 0) sum += share * std::log(share);
    }
    return sum;
}

constexpr std::size_t block_max = 16;

}  // namespace

double krichevsky_trofimov(std::span<const std::uint64_t> counts, double alpha) {
    double product = 1;
    double seen = 0;
    for (const std::uint64_t count : counts)
        for (std::uint64_t i = 0; i < count; ++i, seen += 1.0)
            product *= (static_cast<double>(i) + alpha) / (seen + static_cast<double>(counts.size()) * alpha);
    return product;
}

std::optional<double> permutation_entropy(std::span<const double> values, std::size_t order) {
    constexpr std::size_t order_max = 5;
    if (order < 2 || order > order_max || values.size() < order) return std::nullopt;
    std::array<double, 3125> counts{};  // 5^5: a pattern is read as a number to the base of the order
    const std::size_t patterns = values.size() - order + 1;
    for (std::size_t i = 0; i < patterns; ++i) {
        std::array<std::size_t, order_max> ranked{0, 1, 2, 3, 4};
        std::sort(ranked.begin(), ranked.begin() + static_cast<std::ptrdiff_t>(order),
                  [&](std::size_t a, std::size_t b) {
                      return values[i + a] != values[i + b] ? values[i + a] < values[i + b] : a < b;
                  });
        std::size_t pattern = 0;
        for (std::size_t j = 0; j < order; ++j) pattern = pattern * order + ranked[j];
        counts[pattern] += 1.0;
    }
    double bits = 0;
    for (const double count : counts) {
        const double share = count / static_cast<double>(patterns);
        if (share > 0) bits -= share * std::log2(share);
    }
    return bits;
}

std::optional<double> local_variation(std::span<const double> intervals) {
    if (intervals.size() < 2) return std::nullopt;
    double sum = 0;
    for (std::size_t i = 1; i < intervals.size(); ++i) {
        const double ratio = (intervals[i - 1] - intervals[i]) / (intervals[i - 1] + intervals[i]);
        sum += ratio * ratio;
    }
    return 3.0 * sum / static_cast<double>(intervals.size() - 1);
}

std::optional<double> frequency_p(std::span<const std::uint8_t> bits) {
    if (bits.empty()) return std::nullopt;
    const auto n = static_cast<double>(bits.size());
    return std::erfc(std::abs(2.0 * ones_of(bits) - n) / std::sqrt(2.0 * n));
}

std::optional<double> runs_p(std::span<const std::uint8_t> bits) {
    if (bits.empty()) return std::nullopt;
    const auto n = static_cast<double>(bits.size());
    const double share = ones_of(bits) / n;
    if (std::abs(share - 0.5) >= 2.0 / std::sqrt(n) || share == 0 || share == 1) return std::nullopt;
    const double spread = share * (1.0 - share);
    const double excess = static_cast<double>(runs_of(bits)) - 2.0 * n * spread;
    return std::erfc(std::abs(excess) / (2.0 * std::sqrt(2.0 * n) * spread));
}

std::optional<SerialP> serial_p(std::span<const std::uint8_t> bits, std::size_t block) {
    if (block < 2 || block > block_max || bits.size() < block) return std::nullopt;
    const double whole = psi_squared(bits, block);
    const double less_one = psi_squared(bits, block - 1);
    const double less_two = psi_squared(bits, block - 2);
    const std::size_t twice = std::size_t{1} << (block - 1);
    return SerialP{gamma_above(twice, (whole - less_one) / 2.0),
                   gamma_above(twice / 2, (whole - 2.0 * less_one + less_two) / 2.0)};
}

std::optional<double> approximate_entropy_p(std::span<const std::uint8_t> bits, std::size_t block) {
    if (block < 1 || block >= block_max || bits.size() <= block) return std::nullopt;
    const double entropy = phi(bits, block) - phi(bits, block + 1);
    const double statistic = 2.0 * static_cast<double>(bits.size()) * (std::numbers::ln2 - entropy);
    return gamma_above(std::size_t{1} << block, statistic / 2.0);
}

std::optional<RunsTest> wald_wolfowitz(std::span<const std::uint8_t> bits) {
    const double ones = ones_of(bits);
    const auto n = static_cast<double>(bits.size());
    const double zeros = n - ones;
    if (ones == 0 || zeros == 0) return std::nullopt;
    const double product = 2.0 * ones * zeros;
    const double mean = product / n + 1.0;
    const double variance = product * (product - n) / (n * n * (n - 1.0));
    if (variance <= 0) return std::nullopt;
    const std::size_t runs = runs_of(bits);
    const double z = (static_cast<double>(runs) - mean) / std::sqrt(variance);
    return RunsTest{runs, z, std::erfc(std::abs(z) / std::numbers::sqrt2)};
}

std::optional<Rayleigh> rayleigh(std::span<const double> degrees) {
    if (degrees.empty()) return std::nullopt;
    constexpr double to_radians = std::numbers::pi / 180.0;
    double cosines = 0;
    double sines = 0;
    for (const double angle : degrees) {
        cosines += std::cos(angle * to_radians);
        sines += std::sin(angle * to_radians);
    }
    const auto n = static_cast<double>(degrees.size());
    const double resultant = std::hypot(cosines, sines);
    double mean = std::atan2(sines, cosines) / to_radians;
    if (mean < 0) mean += 360.0;
    const double p = std::exp(std::sqrt(1.0 + 4.0 * n + 4.0 * (n * n - resultant * resultant)) - (1.0 + 2.0 * n));
    return Rayleigh{resultant / n, mean, std::min(p, 1.0)};
}

std::optional<ClockAndMotor> wing_kristofferson(double variance, double lag_one_covariance) {
    const double motor = -lag_one_covariance;
    const double clock = variance - 2.0 * motor;
    if (!(variance > 0) || motor < 0 || clock < 0) return std::nullopt;
    return ClockAndMotor{std::sqrt(clock), std::sqrt(motor), lag_one_covariance / variance};
}

std::optional<ClockAndMotor> wing_kristofferson(std::span<const double> intervals) {
    if (intervals.size() < 3) return std::nullopt;
    const auto n = static_cast<double>(intervals.size());
    double mean = 0;
    for (const double interval : intervals) mean += interval / n;
    double variance = 0;
    double neighbours = 0;
    for (std::size_t i = 0; i < intervals.size(); ++i) {
        const double deviation = intervals[i] - mean;
        variance += deviation * deviation / n;
        if (i > 0) neighbours += deviation * (intervals[i - 1] - mean) / n;
    }
    return wing_kristofferson(variance, neighbours);
}

}  // namespace breakstep::reading
