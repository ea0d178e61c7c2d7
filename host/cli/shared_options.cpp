#include "cli/shared_options.hpp"

#include <CLI/CLI.hpp>

#include <cmath>
#include <cstdlib>

namespace breakstep {

void add_store(CLI::App& app, CommonOptions& common) {
    app.add_option_function<std::string>(
        "--store", [&common](const std::string& path) { common.store = path; },
        "the file that keeps every session (settings say where it is otherwise)");
    app.add_option("--settings", common.settings, "a settings file read after the usual ones");
}

void add_json(CLI::App& app, CommonOptions& common) {
    app.add_flag("--json", common.json, "print one JSON object instead of a page");
}

std::string finite(const std::string& typed) {
    const double number = std::strtod(typed.c_str(), nullptr);
    return std::isfinite(number) ? "" : '"' + typed + "\" is not a number that can be counted with";
}

}  // namespace breakstep
