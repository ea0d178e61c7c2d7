// From what was typed to the options of the commands that keep, bring in, hand out and erase. Main thread.
#pragma once

#include <functional>

#include "cli/athletes/keeping.hpp"

namespace CLI {
class App;
}

namespace breakstep {

/// Adds the commands to `app`. The one that was typed puts itself into `run`, and what was typed with it into `given`:
/// both must outlive the parsing.
void add_keeping_commands(CLI::App& app, KeepingOptions& given, std::function<int()>& run);

}  // namespace breakstep
