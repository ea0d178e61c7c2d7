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

/// The rhythm of a set, or (null) of the drill so far: the last 90 step-ins at most. Nothing of fewer than three. Sign
/// and counts are the drill's.
[[nodiscard]] std::optional<RhythmLane> rhythm_lane(const Score& score, std::optional<std::int32_t> set);

}  // namespace breakstep
