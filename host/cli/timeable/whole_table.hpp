// The table of whole drills: what athletes of a known law are told, for each way in which attacks start, by the plain
// method and by two signs. Honest ones show how often a sign cries wolf; beat keepers and athletes with a habit of
// choosing beside them, since a sign that bets on nothing cries never. Main thread.
#pragma once

#include <cstdint>
#include <iosfwd>
#include <span>
#include <vector>

#include "cli/timeable/floor_athlete.hpp"
#include "core/trade/drill.hpp"

namespace breakstep::timeable {

/// Free in tempo, and in choices at the limit of what is no fault; the last is outside the null.
[[nodiscard]] std::span<const FloorHabits> honest_athletes();
/// A beat in tempo, choices as the honest ones.
[[nodiscard]] std::span<const FloorHabits> beat_keepers();
/// Free in tempo, a habit in choices; the first is honest, to stand beside the others.
[[nodiscard]] std::span<const FloorHabits> creatures_of_habit();

/// Of some drills, how many ended with a tell.
struct ToldInDrills {
    std::uint64_t drills = 0, plain = 0, timed = 0, read = 0, timed_known = 0;
    double guesses = 0;  ///< counted in each drill by two signs, mean
    [[nodiscard]] double share(std::uint64_t told) const {
        return static_cast<double>(told) / static_cast<double>(drills);
    }
};
/// How else each drill is run beside two signs on a stranger; what is not asked for stays 0.
struct BesideTwoSigns {
    bool plain = false;  ///< by the plain method
    bool known = false;  ///< two signs, with a prior of earlier days
    bool apart = false;  ///< all of them as of an evening, whose sets lie apart by others' turns
};
[[nodiscard]] ToldInDrills tell_on_the_floor(const Drill& drill, const FloorHabits& habits, std::uint64_t drills,
                                             std::uint64_t seed, BesideTwoSigns beside = {});

/// Against an opponent that gives itself away, where every lean is the cue that cuts: false tells and power.
void print_lean_table(std::ostream& out, std::ostream& err, std::uint64_t drills, std::uint64_t seed);

/// Without `beside.plain` beat keepers and habits are given a tenth of the drills: power needs fewer than a promise.
void print_whole_table(std::ostream& out, std::ostream& err, std::uint64_t drills, std::uint64_t seed,
                       BesideTwoSigns beside);

}  // namespace breakstep::timeable
