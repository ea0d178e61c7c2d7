// A term as a page for people and as JSON. Pure; any thread; cannot fail.
#pragma once

#include <iosfwd>
#include <string>

#include "app/progress/term.hpp"

namespace breakstep {

/// Athletes in order of their call-signs, never of their results. With `details` also cells, d', p-values and the
/// squad's figures.
void print_progress(std::ostream& out, const Term& term, const std::string& club, bool details);

/// One object with a line end; its keys are described in README.
[[nodiscard]] std::string progress_json(const Term& term);

}  // namespace breakstep
