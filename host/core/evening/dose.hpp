// How much of a drill an athlete of an age gets in a block, and how long it rests after a set. Judgement, as the doses
// of every club are: anchored in the effort to pause of 1:2 to 1:4 of published bouts. Pure; any thread; can't fail.
#pragma once

#include <cstdint>

#include "core/trade/drill.hpp"

namespace breakstep::evening {

struct Dose {
    std::int32_t reps = 0, sets = 0;
    bool operator==(const Dose&) const = default;
};

/// Rest after a set as a share of its work: 60 s after 40 for adults, 160 after 40 for children.
inline constexpr std::int64_t adult_rest_tenths = 15, child_rest_tenths = 40;
/// So many rest in turn while one is at the rig.
inline constexpr std::int32_t pool_size = 5;

/// `age` in years; 0: not known, taken as an adult's.
[[nodiscard]] bool is_child(std::int32_t age);
/// Of a drill that gives adults `asked`.
[[nodiscard]] Dose dose_for(std::int32_t age, const Dose& asked);
/// The drill in sets of so many reps; a round, which goes by time, is as much shorter or longer.
[[nodiscard]] Drill in_sets_of(Drill drill, std::int32_t reps);
/// As an athlete of that age is given it alone: reps, sets, and the rest that is due. A test stays what it is.
[[nodiscard]] Drill dosed(Drill drill, std::int32_t age);
[[nodiscard]] Duration rest_after(Duration work, std::int32_t age);

}  // namespace breakstep::evening
