// Commands that read anybody's list with the project's own pure folds, so that a stranger can check us: `rung` (is this
// rung of the ladder passed?) and `leads` (who leads whom?). Both print to stdout, complain to stderr, and return an
// exit code of commands.hpp. Main thread.
#pragma once

#include <cstdint>
#include <functional>
#include <iosfwd>
#include <string>

#include "cli/commands.hpp"

namespace CLI {
class App;
}

namespace breakstep {

struct ListArguments {
    std::string file;  ///< "-" is standard input; "" with `table`
    bool json = false, details = false;
    bool table = false;
    std::uint32_t simulated = 0;  ///< table: athletes or bouts a cell
    std::uint64_t seed = 1;
};

struct RungArguments {
    ListArguments list;
    double mark = 0.5;
};

int run_rung(const RungArguments& arguments);
int run_leads(const ListArguments& arguments);

/// Adds both; the one that was typed puts itself into `run`.
void add_lists(CLI::App& app, std::function<int()>& run);

}  // namespace breakstep
