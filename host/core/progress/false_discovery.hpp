// Many athletes, one table: which p-values may stand if at most a share of those named is to be wrong (Benjamini &
// Hochberg 1995). Pure; any thread.
#pragma once

#include <span>
#include <vector>

namespace breakstep::progress {

/// Each p-value adjusted, in the order given: the least rate at which it would be named. p in [0, 1].
[[nodiscard]] std::vector<double> false_discovery_adjusted(std::span<const double> p_values);

}  // namespace breakstep::progress
