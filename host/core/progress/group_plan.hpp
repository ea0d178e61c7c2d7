// What the group does in the coming weeks: one moment after the other, in the coach's order or by evidence.
//
// By evidence: of gap and drop the one in which the group is on time least comes first, over the last 28 days, each
// athlete's own rate counted alike, so that who trains most does not speak for all. One of which too few reps or too
// few athletes tell comes after it. Drills in a known pattern say nothing of it: there nobody waits for anything. The
// lift comes last: it needs an attack that is drawn or warned of, and it is learned late.
//
// Pure values; any thread; can't fail. The rules come from config/next.toml (settings/next_file.hpp).
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "core/progress/athlete_term.hpp"

namespace breakstep::progress {

/// Weeks with one moment each. `order` is the coach's word; empty: by evidence.
struct PlanRules {
    std::int32_t weeks = 3;  ///< of a block, 1 .. 12
    std::vector<Moment> order;
    bool operator==(const PlanRules&) const = default;
};

struct PlanBlock {
    std::int32_t first_week = 1, last_week = 3;  ///< from 1
    Moment moment{};
    std::size_t athletes = 0;  ///< of whom there are reps enough in the last 28 days (fewest_an_evening)
    Share on_time;             ///< theirs in that moment, counts added up
    double rate = 0;           ///< the mean of their own rates, 0 .. 1
    bool told = false;         ///< reps and athletes enough to place it by evidence
    bool by_coach = false;
};

/// A moment with fewer reps of the group, or fewer athletes behind it (where so many train), has no place by evidence.
inline constexpr std::uint64_t fewest_for_plan = 20;
inline constexpr std::size_t fewest_athletes_for_plan = 3;

[[nodiscard]] std::vector<PlanBlock> group_plan(std::span<const AthleteTerm> terms, const PlanRules& rules);

}  // namespace breakstep::progress
