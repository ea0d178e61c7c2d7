// What is too much for children: the length of sets and rests, by a person's age. Advice to a coach, never a lock:
// local rules and licensed coaches come first.
//
// Ours, anchored in the effort to pause of 1:2 to 1:4 of published bouts: 6 to 10 reps, at most 4 sets, rest four times
// the work or more. Pure; any thread; cannot fail.
#pragma once

#include <cstdint>
#include <string>

#include "core/trade/drill.hpp"

namespace breakstep {

/// Younger than this (ours).
inline constexpr std::int32_t junior_under_years = 15;
/// A nudge is never shown, while a drill runs, to who is younger than this (ours).
inline constexpr std::int32_t nudge_from_years = 12;
inline constexpr std::int32_t junior_reps_max = 10, junior_sets_max = 4, junior_rest_to_work = 4;

/// About how long a set lasts: waits, and attacks at their mean lengths.
[[nodiscard]] Duration set_length(const Drill& drill);

/// "12 reps a set where 10 are enough, 30 s of rest after about 40 s of work where 160 s are due"; "" if nothing is too
/// much, or the person is no junior.
[[nodiscard]] std::string too_much_for_a_junior(const Drill& drill, std::int32_t age_years);

}  // namespace breakstep
