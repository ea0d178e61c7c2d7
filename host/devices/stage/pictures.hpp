// The pictures of the README: stage and strips, drawn by the same code as the real ones, from invented athletes.
// Any thread. Errors: the folder can't be written to.
#pragma once

#include <string>
#include <vector>

#include "core/error.hpp"

namespace breakstep {

/// Writes lift, up, drop, gap, verdict, nudge, rest and turns of the stage, the same rest in the bright hall, and a
/// phase strip and a tempo strip (PNG and SVG). Returns the names of the files, in order.
[[nodiscard]] Expected<std::vector<std::string>> write_pictures(const std::string& directory);

}  // namespace breakstep
