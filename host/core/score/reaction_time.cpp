#include "core/score/reaction_time.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

namespace breakstep {
namespace {

double normal_cumulative(double z) { return 0.5 * std::erfc(-z / std::sqrt(2.0)); }

}  // namespace

ReactionFigures reaction_figures(std::span<const double> latencies_ms) {
    ReactionFigures figures;
    std::vector<double> valid;
    double sum = 0, speeds = 0;
    for (const double latency : latencies_ms) {
        if (latency < false_start_ms) {
            ++figures.false_starts;
            continue;
        }
        if (latency >= lapse_ms) ++figures.lapses;
        sum += latency;
        speeds += 1000 / latency;
        valid.push_back(latency);
    }
    if (valid.empty()) return figures;
    figures.valid = static_cast<std::int32_t>(valid.size());
    const auto size = static_cast<double>(valid.size());
    figures.mean_ms = sum / size;
    figures.speed_per_s = speeds / size;
    std::sort(valid.begin(), valid.end());
    const std::size_t half = valid.size() / 2;
    figures.median_ms = valid.size() % 2 == 1 ? valid[half] : (valid[half - 1] + valid[half]) / 2;
    return figures;
}

double ExGaussian::standard_deviation() const { return std::sqrt(sigma * sigma + tau * tau); }

double ExGaussian::skewness() const {
    const double variance = sigma * sigma + tau * tau;
    return 2 * tau * tau * tau / (variance * std::sqrt(variance));
}

double ExGaussian::cumulative(double latency_ms) const {
    const double z = (latency_ms - mu) / sigma;
    const double ratio = sigma / tau;
    const double exponent = -(latency_ms - mu) / tau + ratio * ratio / 2;
    return normal_cumulative(z) - std::exp(exponent) * normal_cumulative(z - ratio);
}

double ExGaussian::median() const {
    // The median lies between the normal's middle and the mean: bisect until doubles can't be halved.
    double low = mu - sigma, high = mu + tau + sigma;
    for (int i = 0; i < 200; ++i) {
        const double middle = low + (high - low) / 2;
        (cumulative(middle) < 0.5 ? low : high) = middle;
    }
    return low + (high - low) / 2;
}

double wait_cumulative(double minimum, double extra, double waited) {
    return waited <= minimum ? 0 : -std::expm1(-(waited - minimum) / extra);
}

double wait_quantile(double minimum, double extra, double share) { return minimum - extra * std::log1p(-share); }

double uniform_wait_hazard(double low, double high, double waited) { return waited < low ? 0 : 1 / (high - waited); }

}  // namespace breakstep
