// Who practises with whom while nobody is called to the rig: pairs of one height, children with children. Pure; any
// thread; can't fail.
#pragma once

#include <optional>
#include <utility>
#include <vector>

#include "core/evening/evening.hpp"

namespace breakstep::evening {

struct HallPair {
    AthleteId one{};
    std::optional<AthleteId> other;  ///< nobody: an odd number is here, the coach takes that place
    bool operator==(const HallPair&) const = default;
};

/// Of everybody who is here and not sore: children first, then by height, then as they came, two and two.
[[nodiscard]] std::vector<HallPair> pairs_of_one_height(const State& state);

}  // namespace breakstep::evening
