#include "core/progress/agreement.hpp"

#include <cmath>
#include <cstddef>

namespace breakstep::progress {
namespace {

constexpr double z95 = 1.96;

}  // namespace

std::optional<ReliableChange> reliable_change(double standard_deviation, double reliability, double before,
                                              double after) {
    if (!(standard_deviation > 0) || !(reliability >= 0 && reliability < 1)) return std::nullopt;
    const double of_difference = standard_deviation * std::sqrt(2 * (1 - reliability));
    return ReliableChange{(after - before) / of_difference, z95 * of_difference};
}

std::optional<Kappa> kappa(const Calls& counts) {
    Kappa result;
    std::array<double, 3> rows{}, columns{};
    for (std::size_t i = 0; i < 3; ++i)
        for (std::size_t j = 0; j < 3; ++j) {
            result.of += counts[i][j];
            if (i == j) result.agreed += counts[i][j];
            rows[i] += static_cast<double>(counts[i][j]);
            columns[j] += static_cast<double>(counts[i][j]);
        }
    if (result.of < fewest_for_kappa) return std::nullopt;
    const auto n = static_cast<double>(result.of);
    double chance = 0;
    for (std::size_t i = 0; i < 3; ++i) chance += rows[i] / n * columns[i] / n;
    if (!(chance < 1)) return std::nullopt;
    const double seen = static_cast<double>(result.agreed) / n;
    result.by_chance = chance * n;
    result.kappa = (seen - chance) / (1 - chance);
    double a = 0, b = 0;
    for (std::size_t i = 0; i < 3; ++i)
        for (std::size_t j = 0; j < 3; ++j) {
            const double p = static_cast<double>(counts[i][j]) / n;
            if (i == j) {
                const double off = 1 - (rows[i] + columns[i]) / n * (1 - result.kappa);
                a += p * off * off;
            } else {
                const double sum = (columns[i] + rows[j]) / n;
                b += p * sum * sum;
            }
        }
    b *= (1 - result.kappa) * (1 - result.kappa);
    const double c = result.kappa - chance * (1 - result.kappa);
    const double variance = std::fmax(0, a + b - c * c) / (n * (1 - chance) * (1 - chance));
    const double half = z95 * std::sqrt(variance);
    result.low = std::fmax(-1, result.kappa - half);
    result.high = std::fmin(1, result.kappa + half);
    return result;
}

std::optional<Repeatability> repeatability(std::span<const std::vector<double>> trials) {
    if (trials.size() < 2 || trials[0].size() < 2) return std::nullopt;
    const std::size_t people = trials[0].size();
    for (const auto& trial : trials)
        if (trial.size() != people) return std::nullopt;
    const auto k = static_cast<double>(trials.size()), n = static_cast<double>(people);
    double grand = 0;
    for (const auto& trial : trials)
        for (const double value : trial) grand += value / (n * k);
    double between_people = 0, between_trials = 0, total = 0;
    for (std::size_t person = 0; person < people; ++person) {
        double person_mean = 0;
        for (const auto& trial : trials) person_mean += trial[person] / k;
        between_people += k * (person_mean - grand) * (person_mean - grand);
    }
    for (const auto& trial : trials) {
        double trial_mean = 0;
        for (const double value : trial) {
            trial_mean += value / n;
            total += (value - grand) * (value - grand);
        }
        between_trials += n * (trial_mean - grand) * (trial_mean - grand);
    }
    // Equal values leave nothing but the rounding of their mean.
    if (!(total > 1e-24 * grand * grand * n * k)) return std::nullopt;
    const double people_square = between_people / (n - 1);
    const double trials_square = between_trials / (k - 1);
    const double error_square = std::fmax(0, total - between_people - between_trials) / ((n - 1) * (k - 1));
    Repeatability result;
    result.icc_consistency = (people_square - error_square) / (people_square + (k - 1) * error_square);
    result.icc_agreement = (people_square - error_square) /
                           (people_square + (k - 1) * error_square + k * (trials_square - error_square) / n);
    result.error = std::sqrt(error_square);
    result.minimal_difference = z95 * std::sqrt(2.0) * result.error;
    return result;
}

}  // namespace breakstep::progress
