// The laws that progress needs: normal, Student's t and binomial, from Boost.Math. The one file of the core that knows
// a library besides the standard one is distributions.cpp; this header is plain.
//
// Pure; any thread. Out-of-range arguments are the caller's fault and stop the program.
#pragma once

#include <cstdint>

namespace breakstep::progress {

/// P(X <= z) of the standard normal law.
[[nodiscard]] double normal_cumulative(double z);
/// z with P(X <= z) = share; share in (0, 1).
[[nodiscard]] double normal_quantile(double share);

/// P(X > t) of Student's law; degrees of freedom above 0, not necessarily whole.
[[nodiscard]] double student_upper(double t, double degrees);
/// t with P(X <= t) = share; share in (0, 1), degrees above 0.
[[nodiscard]] double student_quantile(double share, double degrees);

/// P(X <= successes) of `trials` fair coins.
[[nodiscard]] double fair_coin_cumulative(std::uint64_t successes, std::uint64_t trials);

}  // namespace breakstep::progress
