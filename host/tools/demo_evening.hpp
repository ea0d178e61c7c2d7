// `demo --evening`: a whole evening of the invented club on the simulated rig, in virtual time, held against the truth
// that was planted in it. Main thread.
#pragma once

#include "cli/commands.hpp"

namespace breakstep {

struct EveningDemo {
    double minutes = 90;    ///< 1 to 240: the plan of 90 is scaled
    std::int32_t cuts = 0;  ///< the program is cut off so often, at moments of the seed's, and goes on
};

/// Prints the evening's figures and gives the exit code: failed if anything was lost, doubled
/// or given to another, or a rest was too short.
[[nodiscard]] int run_demo_evening(const CommonOptions& options, const EveningDemo& demo);

}  // namespace breakstep
