// The questions of `rigs calibrate` for whoever else is asked them: the phone of a desk. Main thread; manners and exit
// codes are those of commands.hpp.
#pragma once

#include <functional>
#include <string>

#include "cli/commands.hpp"

namespace breakstep {

/// Any may be empty. `say` comes on any thread, the others are asked often, on the main one.
struct CalibrationHand {
    std::function<void(const std::string&)> say;
    std::function<bool()> skips, ends;
};
int calibrate_rig(const RigOptions& options, const CalibrationHand& hand);

}  // namespace breakstep
