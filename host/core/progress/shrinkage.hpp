// Figures of many athletes, each drawn towards the mean of all as far as its own scatter says: James & Stein's
// estimator towards the mean (Efron & Morris 1975), positive part. For display, never for a claim.
//
// Pure; any thread.
#pragma once

#include <optional>
#include <span>
#include <vector>

namespace breakstep::progress {

struct Shrunk {
    double mean = 0;
    double kept = 1;  ///< share of each distance to the mean that is kept, 0 .. 1
    std::vector<double> values;
};
/// `variance` of each single figure, at least 0. nullopt under four figures: fewer can't be bettered this way.
[[nodiscard]] std::optional<Shrunk> shrink(std::span<const double> figures, double variance);

}  // namespace breakstep::progress
