// Where a training level settles: the share of hits that a staircase aims at, and the window that gives an athlete of
// a known timing error that share.
//
// k hits in a row for a step down settle where p^k = 1/2 (Levitt 1971); unequal steps settle where up : down = p : (1 -
// p) (Kaernbach 1991); a normal timing error of standard deviation s falls within +- s z((1 + p) / 2) with probability
// p. Levels change in training drills only, never in a test. Pure; any thread.
#pragma once

#include <cstdint>

namespace breakstep::progress {

/// Share of hits (0 .. 1) at which "harder after `in_a_row` hits, easier after one miss" settles; `in_a_row` from 1.
[[nodiscard]] double staircase_share(std::int32_t in_a_row);
/// How many times longer the step up (easier) is than the step down for a share of hits in (0, 1).
[[nodiscard]] double staircase_step_ratio(double share);
/// Half of the window that a share in (0, 1) of normal timing errors falls into, in the unit of `timing_error` (SD).
[[nodiscard]] double half_window(double timing_error, double share);

}  // namespace breakstep::progress
