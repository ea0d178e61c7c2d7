// The rules of what comes next, as a coach writes them: config/next.toml explains every key, and a person's own
// next.toml (own_folder()) takes its place. Unknown keys, wrong values and rules that make no sense are errors with
// file, line and what is allowed. Any thread.
#pragma once

#include <string>
#include <vector>

#include "core/error.hpp"
#include "core/progress/group_plan.hpp"
#include "core/progress/next_drill.hpp"
#include "core/progress/rungs.hpp"
#include "settings/settings.hpp"

namespace breakstep {

struct NextRules {
    std::vector<progress::RungStandard> rungs;  ///< any number; each number once
    std::vector<progress::NextRule> rules;      ///< at least one; the first that holds is taken
    progress::PlanRules plan;
};

/// The person's own file if there is one, else the one that comes with the program. Fails as parse_next, and
/// (bad_input) if a rule names a drill that is not there.
[[nodiscard]] Expected<NextRules> load_next(const Settings& settings);
/// The rungs alone: config/ladder.toml, or a person's own.
[[nodiscard]] Expected<std::vector<progress::RungStandard>> load_ladder();
[[nodiscard]] Expected<std::vector<progress::RungStandard>> parse_ladder(const std::string& text,
                                                                         const std::string& file);
[[nodiscard]] Expected<NextRules> parse_next(const std::string& text, const std::string& file);

}  // namespace breakstep
