// What is too much for children: the length of sets and rests, by a person's age. Advice to a coach, never a lock:
// local rules and licensed coaches come first.
//
// 6 to 10 reps, at most 4 sets, rest four times the work or more (rules.hpp). Pure; any thread; cannot fail.
#pragma once

#include <cstdint>
#include <string>

#include "core/trade/drill.hpp"
#include "core/trade/rules.hpp"

namespace breakstep {

/// About how long a set lasts: waits, and attacks at their mean lengths.
[[nodiscard]] Duration set_length(const Drill& drill);

/// "12 reps a set where 10 are enough, 30 s of rest after about 40 s of work where 160 s are due"; "" if nothing is too
/// much, or the person is no junior.
[[nodiscard]] std::string too_much_for_a_junior(const Drill& drill, std::int32_t age_years);

/// What of it children of this age are never given, whatever the dose: "no spins under 14, never hunted"; "" for
/// nothing, and where the age is not known (0).
[[nodiscard]] std::string never_at_age(const Drill& drill, std::int32_t age_years);

}  // namespace breakstep
