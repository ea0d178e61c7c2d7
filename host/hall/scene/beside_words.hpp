// What stands behind a verdict's second line: of what was asked beside the strike, the one thing that was seen. Pure;
// any thread; cannot fail.
#pragma once

#include <string>

#include "core/score/score.hpp"

namespace breakstep {

/// "and out", "still inside", "no second strike", "0.2 s ahead of the beat", "as you said"; "" where nothing else was
/// asked or it is not known yet.
[[nodiscard]] std::string beside_words(const Asks& asks, const RepResult& rep);

}  // namespace breakstep
