// Runs the controller at the pace of the wall clock, its line on a pseudo-terminal; commands come from stdin. Single
// thread.
#pragma once

#include "commands.hpp"

namespace board {

/// Until the commands end or say quit. `drift` in parts per million: how much too fast the crystal is. Returns the
/// program's exit code.
int run_paced(Controller& controller, double drift);

}  // namespace board
