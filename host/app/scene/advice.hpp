// The one line after a set: what to change, and what was seen. Rules of ours, in the order of what costs an athlete
// most; common practice of the trade, no source. Pure; any thread.
#pragma once

#include <span>
#include <string>

#include "core/score.hpp"

namespace breakstep {

struct Advice {
    std::string line;    ///< "Let the foot pass the line."
    std::string reason;  ///< "3 clashes, all just above it."
};

/// `reps` are one set's. An empty set gives empty lines.
[[nodiscard]] Advice advice_for(std::span<const RepResult> reps);

}  // namespace breakstep
