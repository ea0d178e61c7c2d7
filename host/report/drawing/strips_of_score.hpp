// From what the score knows to what strips and lanes draw; for the stage and for pages. Pure; any thread; cannot fail.
#pragma once

#include <optional>
#include <vector>

#include "core/score/score.hpp"
#include "report/drawing/attack_timeline.hpp"
#include "report/drawing/phase_strip.hpp"
#include "report/drawing/rhythm_lane.hpp"

namespace breakstep {

/// Without the phases that have no length.
[[nodiscard]] AttackTimeline timeline_of(AttackKind kind, const std::vector<AttackPhase>& phases);

/// The strip's row of a rep.
[[nodiscard]] StripRep strip_rep(const RepResult& rep);

/// A set's rhythm; nothing of fewer than three step-ins.
[[nodiscard]] std::optional<RhythmLane> rhythm_lane(const Score& score, std::int32_t set);

}  // namespace breakstep
