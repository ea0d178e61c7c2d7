// The plan of an evening, as a coach writes it: config/evening.toml explains every key, and a person's own evening.toml
// (own_folder()) takes its place. Unknown keys, wrong values and plans that make no sense are errors with file, line
// and what is allowed. Any thread.
#pragma once

#include <string>
#include <vector>

#include "core/error.hpp"
#include "core/evening/evening_events.hpp"
#include "core/trade/drill.hpp"
#include "settings/settings.hpp"

namespace breakstep {

/// `path` "": the person's own plan if there is one, else the one that comes with the program. Fails as parse_evening,
/// and (bad_input) if a block names a drill that is not there.
struct EveningPlan {
    std::vector<evening::Block> blocks;  ///< each drill by its name
    std::vector<Drill> drills;           ///< those that were named by a file
};
[[nodiscard]] Expected<EveningPlan> load_evening(const std::string& path, const Settings& settings);
[[nodiscard]] Expected<std::vector<evening::Block>> parse_evening(const std::string& text, const std::string& file);

/// The same plan in so many minutes.
[[nodiscard]] std::vector<evening::Block> scaled_to(std::vector<evening::Block> blocks, Duration whole);

}  // namespace breakstep
