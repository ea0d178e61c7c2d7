// Drill files: TOML in config/drills or anywhere else. config/drills/drop-of-a-single-kick.toml explains every key;
// unknown keys, wrong values and drills that make no sense are errors with file, line and what is allowed. Any thread.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "core/trade/drill.hpp"
#include "settings/settings.hpp"

namespace breakstep {

/// The rungs that a drill can stand on: 1 to so many.
inline constexpr std::int32_t steps_on_ladder = 9;

/// By name (a file NAME.toml of the drill folders) or, if it has a slash or ends in .toml, by path. A wrong name's
/// error gives the nearest and all there are.
[[nodiscard]] Expected<Drill> load_drill(const std::string& name_or_path, const Settings& settings);
[[nodiscard]] Expected<Drill> read_drill(const std::filesystem::path& path, const Settings& settings);
[[nodiscard]] Expected<Drill> parse_drill(const std::string& text, const std::string& file, const std::string& name,
                                          const Settings& settings);

/// Of a name or path that load_drill() takes: the file came with the program, and is nobody's own.
[[nodiscard]] bool is_shipped(const std::string& name_or_path);

struct DrillList {
    std::vector<Drill> drills;    ///< those of the ladder by its steps, then those without, then the tests
    std::vector<Error> unusable;  ///< files that are no drill: one wrong file stops none of the others
};
/// Every drill of the drill folders. Fails where there is none at all.
[[nodiscard]] Expected<DrillList> list_drills(const Settings& settings);

/// Where drills are looked for: the person's own first (own_folder()/drills), then those that come with the program. Of
/// two with one name the person's own counts.
[[nodiscard]] std::vector<std::filesystem::path> drill_folders();

}  // namespace breakstep
