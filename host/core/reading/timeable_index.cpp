#include "core/reading/timeable_index.hpp"

#include <algorithm>
#include <cmath>

namespace breakstep::reading {

Interval95 wilson(std::uint64_t successes, std::uint64_t trials, double z) {
    if (trials == 0) return {};
    const auto n = static_cast<double>(trials);
    const double share = static_cast<double>(successes) / n;
    const double middle = share + z * z / (2.0 * n);
    const double half = z * std::sqrt(share * (1.0 - share) / n + z * z / (4.0 * n * n));
    const double scale = 1.0 + z * z / n;
    // At 0 and at n of n the formula gives 0 and 1 but for rounding.
    return {successes == 0 ? 0.0 : (middle - half) / scale, successes == trials ? 1.0 : (middle + half) / scale};
}

namespace {

double index_of(double hits, double chance, double scored) {
    return scored > chance ? 100.0 * std::max(0.0, (hits - chance) / (scored - chance)) : 0.0;
}

}  // namespace

bool HitCount::shown() const {
    const auto n = static_cast<double>(scored);
    return scored >= 8 && n - chance >= 6.0 && chance / n <= 0.65;
}

double HitCount::timeable() const { return index_of(static_cast<double>(hits), chance, static_cast<double>(scored)); }

Interval95 HitCount::timeable_interval() const {
    const auto n = static_cast<double>(scored);
    const Interval95 share = wilson(hits, scored);
    return {index_of(share.low * n, chance, n), index_of(share.high * n, chance, n)};
}

double HitCount::standard_error() const {
    const auto n = static_cast<double>(scored);
    if (scored == 0 || chance >= n) return 110.0;
    const double share = (static_cast<double>(hits) + 2.0) / (n + 4.0);
    return 110.0 * std::sqrt(share * (1.0 - share) / n) / (1.0 - chance / n);
}

std::string HitCount::words() const {
    if (scored == 0) return "no step-in could be scored yet";
    const std::string of_all = " of " + std::to_string(scored);
    const std::string expected = std::to_string(std::llround(chance));
    if (chance / static_cast<double>(scored) > 0.65) return "at this pace anyone is caught " + expected + of_all;
    return std::to_string(hits) + of_all + " caught, luck " + expected;
}

HitCount& HitCount::operator+=(const HitCount& other) {
    hits += other.hits;
    scored += other.scored;
    chance += other.chance;
    return *this;
}

}  // namespace breakstep::reading
