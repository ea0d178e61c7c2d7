// What the stage shows of a class without a rig at a moment. Pure; any thread; cannot fail.
#pragma once

#include <cstddef>
#include <string>
#include <utility>
#include <vector>

#include "core/trade/pairs.hpp"
#include "devices/stage/stage_view.hpp"

namespace breakstep {

struct PairsClass {
    Drill drill;
    std::vector<PairsRound> rounds;
    /// Call-signs of each pair, "" where nobody said them.
    std::vector<std::pair<std::string, std::string>> names;
};

/// One thing that stands on the stage, from `from` on until the next one's: since the class began.
struct PairsStep {
    Duration from{};
    bool tone = false;  ///< a round begins or ends here; nothing else sounds
    StagePairs shown;   ///< begin and end since the class began
};

/// Everything in order: change over, cues, waits between them.
[[nodiscard]] std::vector<PairsStep> steps_of(const PairsClass& given);

/// A step as a view, the class having begun at `began`.
[[nodiscard]] StageView pairs_view(const PairsStep& step, HostTime began);

}  // namespace breakstep
