// Options that many commands take, under the same names everywhere. Main thread.
#pragma once

#include <string>

#include "cli/commands.hpp"

namespace CLI {
class App;
}

namespace breakstep {

/// --store and --settings
void add_store(CLI::App& app, CommonOptions& common);
/// --json
void add_json(CLI::App& app, CommonOptions& common);

/// A check for options that take a number: "nan" and "inf" are none. "" if it is one.
[[nodiscard]] std::string finite(const std::string& typed);

}  // namespace breakstep
