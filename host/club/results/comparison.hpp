// What scoring a session again found, beside what was kept of it: one line. Pure; any thread; cannot fail.
#pragma once

#include <span>
#include <string>

#include "core/score/score.hpp"

namespace breakstep {

/// "the same as what was kept, all 20 reps"; "differs from what was kept in 2 of 20 reps: set 1 rep 4 (on time, kept
/// as late), set 2 rep 1 (other figures)"; of reps that are in one of the two alone it says how many there are in each.
[[nodiscard]] std::string comparison_words(std::span<const RepResult> scored, std::span<const RepResult> kept);

}  // namespace breakstep
