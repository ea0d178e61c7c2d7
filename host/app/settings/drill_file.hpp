// Drill files: TOML in config/drills or anywhere else. config/drills/drop-of-a-single-kick.toml explains every key;
// unknown keys, wrong values and drills that make no sense are errors with file, line and what is allowed. Any thread.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "app/settings/settings.hpp"
#include "core/drill.hpp"

namespace breakstep {

/// By name (a file NAME.toml of config/drills) or, if it has a slash or ends in .toml, by path. A wrong name's error
/// lists the drills there are.
[[nodiscard]] Expected<Drill> load_drill(const std::string& name_or_path, const Settings& settings);
[[nodiscard]] Expected<Drill> read_drill(const std::filesystem::path& path, const Settings& settings);
[[nodiscard]] Expected<Drill> parse_drill(const std::string& text, const std::string& file, const std::string& name,
                                          const Settings& settings);

/// Every drill of config/drills, by file name (they are numbered by level). The first broken file is the error.
[[nodiscard]] Expected<std::vector<Drill>> list_drills(const Settings& settings);

}  // namespace breakstep
