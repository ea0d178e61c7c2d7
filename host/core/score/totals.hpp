// A session's figures over its reps as they are now. Pure; any thread; can't fail.
#pragma once

#include <vector>

#include "core/score/score.hpp"

namespace breakstep::scoring {

/// A median of fewer scored contacts says more about luck than about the athlete.
inline constexpr std::size_t fewest_for_median = 20;

/// Fills in counts, rates, errors and the median. Void reps count only as voids.
/// Errors: constant = mean, variable = population standard deviation, absolute = mean distance (Schmidt & Lee).
void add_reps(const std::vector<RepResult>& reps, SessionTotals& totals);

}  // namespace breakstep::scoring
