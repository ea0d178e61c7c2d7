// From what conduct and score know to what the stage draws: rig times become host times, reps become strips.
// Pure; called on the engine's thread.
#pragma once

#include <string>

#include "core/conduct/conduct.hpp"
#include "core/score/score.hpp"
#include "devices/stage/stage_view.hpp"
#include "link/link.hpp"

namespace breakstep {

/// What the scene itself does not know: names, and who comes next.
struct SceneNames {
    std::string club, athlete, drill_title;
    std::string next, then;  ///< call-signs at the rig after this athlete's last set; "" for none
    std::uint64_t seed = 0;
    LengthRange lift;  ///< of the opponent: what a feint pretends
    double spread = 0.1;
    bool child = false;  ///< under 15: the stage shows what to do and the best run, no counts
    bool nudged = true;  ///< false under 12: no habit is told while the drill runs
};

[[nodiscard]] StageView stage_view(const Scene& scene, const SceneNames& names, const Score& score, const Link& link,
                                   HostTime now, bool saved);

/// A habit as the stage tells it.
[[nodiscard]] StageNudge nudge_of(const SignRaised& sign, HostTime since);

/// What is said and shown of a set once it is over; without names of who comes next, and without a countdown.
[[nodiscard]] StageRest rest_of_set(const Score& score, std::int32_t set, std::int32_t sets, bool child);

}  // namespace breakstep
