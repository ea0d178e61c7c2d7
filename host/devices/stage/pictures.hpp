// The pictures of the README: stage and strips, drawn by the same code as the real ones. What is told of a set comes
// from a set that was played. Any thread. Errors: the folder can't be written to.
#pragma once

#include <string>
#include <vector>

#include "core/error.hpp"
#include "devices/stage/stage_view.hpp"

namespace breakstep {

/// Writes lift, up, drop, gap, verdict, nudge and rest of the stage, the same rest in the bright hall, and `rest`'s
/// phase strip and rhythm lane (PNG and SVG). Returns the names of the files, in order.
[[nodiscard]] Expected<std::vector<std::string>> write_pictures(const std::string& directory, const StageRest& rest,
                                                                const StageNudge& nudge);

}  // namespace breakstep
