// `demo --ladder`: invented athletes climb one rung in whole simulated evenings, half of them exactly at its mark, half
// well above it; and some who go at everything stand before the rung with feints. Who passes, and after how many counted
// reps. Main thread.
//
// `demo --told-apart`: simulated athletes who differ in one thing each, before the drill that is made for it: how often
// that drill tells each of them.
#pragma once

#include "cli/commands.hpp"

namespace breakstep {

struct LadderDemo {
    std::int32_t athletes = 100, evenings = 20;
    std::int32_t sessions = 200;  ///< of each cell of the table
};

/// The last line (as JSON the last line, one object) has `athletes`, `passed`, `false_passes`, `reps_to_pass`. Gives the
/// exit code: failed where more passed falsely than the promise allows.
[[nodiscard]] int run_demo_ladder(const CommonOptions& options, const LadderDemo& demo);
[[nodiscard]] int run_told_apart(const CommonOptions& options, const LadderDemo& demo);

}  // namespace breakstep
