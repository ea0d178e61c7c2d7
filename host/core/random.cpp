#include "core/random.hpp"

#include <cmath>

namespace breakstep {

Random::Random(std::uint64_t seed, std::uint64_t stream) : increment_((stream << 1U) | 1U) {
    (void)next();
    state_ += seed;
    (void)next();
}

std::uint32_t Random::next() {
    const std::uint64_t old = state_;
    state_ = old * 6364136223846793005ULL + increment_;
    const auto xorshifted = static_cast<std::uint32_t>(((old >> 18U) ^ old) >> 27U);
    const auto rotation = static_cast<std::uint32_t>(old >> 59U);
    return (xorshifted >> rotation) | (xorshifted << ((-rotation) & 31U));
}

std::uint32_t Random::below(std::uint32_t bound) {
    const std::uint32_t threshold = (0U - bound) % bound;
    for (;;) {
        const std::uint32_t draw = next();
        if (draw >= threshold) return draw % bound;
    }
}

double Random::unit() {
    const std::uint64_t high = next() >> 5U;
    const std::uint64_t low = next() >> 6U;
    return static_cast<double>(high * 67108864U + low) / 9007199254740992.0;
}

double Random::exponential(double mean) { return -mean * std::log1p(-unit()); }

double Random::normal() {
    if (has_kept_normal_) {
        has_kept_normal_ = false;
        return kept_normal_;
    }
    constexpr double two_pi = 6.283185307179586476925286766559;
    const double radius = std::sqrt(-2.0 * std::log1p(-unit()));
    const double angle = two_pi * unit();
    kept_normal_ = radius * std::sin(angle);
    has_kept_normal_ = true;
    return radius * std::cos(angle);
}

double Random::lognormal(double mean, double coefficient_of_variation) {
    const double variance = std::log1p(coefficient_of_variation * coefficient_of_variation);
    return mean * std::exp(std::sqrt(variance) * normal() - variance / 2);
}

}  // namespace breakstep
