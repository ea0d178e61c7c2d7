// `breakstep progress`: who improved, at what, beyond noise. Main thread; manners and exit codes are those of
// commands.hpp.
#pragma once

#include <functional>
#include <iosfwd>
#include <optional>
#include <string>
#include <vector>

#include "cli/commands.hpp"
#include "club/term/term.hpp"

namespace CLI {
class App;
}

namespace breakstep {

struct ProgressArguments {
    CommonOptions common;
    bool end_of_term = false, details = false;
    std::string athlete, group;           ///< "": all
    std::optional<std::string> from, to;  ///< ISO; over the settings'
    std::optional<std::string> measure, better;
};

int show_progress(const ProgressArguments& arguments);
/// The same into `out`; gives whose results are left out.
[[nodiscard]] Expected<std::vector<Athlete>> write_progress(const ProgressArguments& arguments,
                                                            const Settings& settings, std::ostream& out);

/// What was typed over the settings. Fails (bad_input) for a date that is none, or a term that ends before it begins.
[[nodiscard]] Expected<TermOptions> term_options(const ProgressArguments& arguments, const Settings& settings);

/// Adds the command; its callback puts what is to be run into `run`.
void add_progress(CLI::App& app, std::function<int()>& run);

}  // namespace breakstep
