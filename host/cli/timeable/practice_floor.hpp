// A whole drill without a rig: conduct and score, as they run a real one, against an invented athlete in virtual time.
// For measuring what the reading tells of athletes whose law is known, through everything that lies before it: plans,
// coins, guesses that are attacked, answers, gates, voids.
//
// The lamps answer each order to the tick; gates and pads are stamped true. The same seed gives the same drill. One
// thread; pure but for memory; cannot fail.
#pragma once

#include <cstdint>

#include "cli/timeable/floor_athlete.hpp"
#include "core/reading/reading_method.hpp"
#include "core/score/score.hpp"

namespace breakstep::timeable {

/// Two sets of attacks by one kick, any pad right.
[[nodiscard]] Drill floor_drill(StartKind start, std::int32_t reps = 20);

/// The same with the lift asked, of an opponent that leans before eight kicks in ten and lies with a fifth of its
/// leans: each lean is answered, lies too.
[[nodiscard]] Drill leaning_floor_drill(std::int32_t reps = 20);

/// Which of an athlete's drills, and how it is read.
struct FloorRun {
    reading::ReadingMethod method = reading::ReadingMethod::two_signs;
    std::uint64_t seed = 0, number = 0;
    bool apart = false;  ///< as one of an evening, whose sets lie apart by others' turns: it stands aside after each
    bool known = false;  ///< with a prior of three earlier days of 24 steps in, each day's pace 6 % off
};
[[nodiscard]] SessionTotals play_on_the_floor(const Drill& drill, const FloorHabits& habits, const FloorRun& run);

}  // namespace breakstep::timeable
