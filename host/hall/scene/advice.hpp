// The words of the advice after a set, and of the counts behind it. Pure; any thread; cannot fail.
#pragma once

#include <string>

#include "core/advice/advice.hpp"

namespace breakstep {

struct Advice {
    std::string line;    ///< "Start while it is up, arrive as it drops."
    std::string reason;  ///< "3 clashes, 0.04 to 0.11 s before the hip line."
};

/// Empty lines where there is nothing to say. A child (under 15) is told what to do and the best run; the counts are
/// the coach's.
[[nodiscard]] Advice words_of(const SetAdvice& advice, bool child);

}  // namespace breakstep
