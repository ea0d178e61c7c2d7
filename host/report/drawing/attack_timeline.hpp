// One attack as the pictures need it: which phase began when and how long it was (or will be), counted from toe-off.
// The live stage, the strips and the pages all draw from this one shape, so that they can't disagree.
//
// Plain values, any thread; the caller fills them. Steps are in order, the first begins at 0, each has a length above
// zero, and there is no hole between two of them; a phase that is missing draws nothing, it does not fail.
#pragma once

#include <optional>
#include <vector>

#include "core/time.hpp"
#include "core/vocabulary.hpp"

namespace breakstep {

struct TimelineStep {
    Phase phase;
    Duration begin;   ///< since toe-off
    Duration length;  ///< above zero
};

struct AttackTimeline {
    AttackKind kind = AttackKind::single;
    std::vector<TimelineStep> steps;  ///< empty: a catch trial, nothing comes
    /// For a feint alone: the length of the lift it pretends to be. The limb rises exactly as that lift would, to 60 %
    /// of it, and goes back in the rest of the step.
    Duration feint_lift{};

    [[nodiscard]] Duration end() const { return steps.empty() ? Duration{} : steps.back().begin + steps.back().length; }
};

/// The step that is current `since_toe_off`; nothing before toe-off and after the end. Half-open: a step's begin is its
/// own, its end is the next one's.
[[nodiscard]] std::optional<std::size_t> step_at(const AttackTimeline& attack, Duration since_toe_off);

}  // namespace breakstep
