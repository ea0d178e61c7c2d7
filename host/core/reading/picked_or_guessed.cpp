#include "core/reading/picked_or_guessed.hpp"

#include <cmath>
#include <numbers>

namespace breakstep::reading {

double normal_quantile(double share) {
    // Halving until the doubles can't be told apart: slow, exact to rounding, and asked for a few times a session.
    double low = -40.0;
    double high = 40.0;
    for (int i = 0; i < 80; ++i) {
        const double middle = 0.5 * (low + high);
        (0.5 * std::erfc(-middle / std::numbers::sqrt2) < share ? low : high) = middle;
    }
    return 0.5 * (low + high);
}

namespace {

double normal_density(double z) { return std::exp(-0.5 * z * z) / std::sqrt(2.0 * std::numbers::pi); }

double variance_of(double share, double trials, double z) {
    const double density = normal_density(z);
    return share * (1.0 - share) / (trials * density * density);
}

}  // namespace

std::optional<PickedOrGuessed> picked_or_guessed(const AnswerCount& count) {
    if (count.attacks == 0 || count.feints == 0) return std::nullopt;
    const auto attacks = static_cast<double>(count.attacks);
    const auto feints = static_cast<double>(count.feints);
    const double hit = (static_cast<double>(count.attacks_answered) + 0.5) / (attacks + 1.0);
    const double bite = (static_cast<double>(count.feints_answered) + 0.5) / (feints + 1.0);
    const double z_hit = normal_quantile(hit);
    const double z_bite = normal_quantile(bite);
    const double half = 1.959964 * std::sqrt(variance_of(hit, attacks, z_hit) + variance_of(bite, feints, z_bite));
    const double d_prime = z_hit - z_bite;
    return PickedOrGuessed{d_prime, d_prime - half, d_prime + half,
                           count.attacks_answered == count.attacks || count.feints_answered == 0};
}

std::string PickedOrGuessed::words(const AnswerCount& count) const {
    const std::string counts = "answered " + std::to_string(count.attacks_answered) + " of " +
                               std::to_string(count.attacks) + " attacks, " + std::to_string(count.feints_answered) +
                               " of " + std::to_string(count.feints) + " feints";
    if (low > 0) return "picked: " + counts;
    if (!at_least_only && high < 1.0) return "guessed: " + counts;
    return "too few to tell picked from guessed: " + counts;
}

}  // namespace breakstep::reading
