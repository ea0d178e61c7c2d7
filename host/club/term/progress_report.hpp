// A term as a page for people and as JSON. Pure; any thread; cannot fail.
#pragma once

#include <iosfwd>
#include <optional>
#include <string>
#include <vector>

#include "club/term/term.hpp"
#include "core/progress/group_plan.hpp"
#include "core/progress/next_drill.hpp"

namespace breakstep {

/// What is to be done: of each of the term's athletes in their order, and of the group.
struct Coming {
    std::vector<std::optional<progress::NextDrill>> next;
    std::vector<progress::PlanBlock> plan;
};

/// Athletes in order of their call-signs, never of their results. With `details` also cells, d', p-values and the
/// squad's figures.
void print_progress(std::ostream& out, const Term& term, const Coming& coming, const std::string& club, bool details);

/// One object with a line end; its keys are described in README.
[[nodiscard]] std::string progress_json(const Term& term, const Coming& coming);

}  // namespace breakstep
