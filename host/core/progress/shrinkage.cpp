#include "core/progress/shrinkage.hpp"

#include <algorithm>

#include "core/progress/summary.hpp"

namespace breakstep::progress {

std::optional<Shrunk> shrink(std::span<const double> figures, double variance) {
    if (figures.size() < 4 || !(variance >= 0)) return std::nullopt;
    Shrunk result;
    result.mean = *mean(figures);
    double squares = 0;
    for (const double figure : figures) squares += (figure - result.mean) * (figure - result.mean);
    const double needed = static_cast<double>(figures.size() - 3) * variance;
    result.kept = squares > needed ? 1 - needed / squares : 0;
    for (const double figure : figures) result.values.push_back(result.mean + result.kept * (figure - result.mean));
    return result;
}

}  // namespace breakstep::progress
