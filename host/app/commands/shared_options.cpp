#include "app/commands/shared_options.hpp"

#include <CLI/CLI.hpp>

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

}  // namespace breakstep
