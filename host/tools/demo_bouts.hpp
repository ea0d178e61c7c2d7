// `demo --partner --bouts N`: who makes whom go, through whole bouts at the simulated rig, beside the pure fold of the
// same bouts and the published figures. Main thread; minutes of it.
#pragma once

#include "cli/commands.hpp"

namespace breakstep {

/// Prints a Markdown table (as JSON one object, the last line), and gives the exit code: failed if a cell lies outside
/// its limit, or score told anything else than the pure fold of what the bodies did.
[[nodiscard]] int run_demo_bouts(const CommonOptions& options, std::int32_t bouts);

}  // namespace breakstep
