// `breakstep desk`, and the desk of an evening: what the house has for the coach's pages. Main thread; manners and exit
// codes are those of commands.hpp.
#pragma once

#include <filesystem>
#include <functional>

#include "cli/commands.hpp"
#include "desk/web/server.hpp"
#include "settings/settings.hpp"

namespace CLI {
class App;
}

namespace breakstep {

/// What needs no evening: lists of taps, drills, and what the store keeps.
[[nodiscard]] desk::DeskHouse house_without_evening(const CommonOptions& options, const Settings& settings);
/// Where a store's desk keeps its certificate and who is paired.
[[nodiscard]] std::filesystem::path desk_folder(const std::filesystem::path& store);

int run_desk(const RigOptions& rig, const DeskOptions& wanted);

/// --port and --hall
void add_desk_options(CLI::App& app, DeskOptions& options);
/// Adds the command; its callback puts what is to be run into `run`.
void add_desk(CLI::App& app, std::function<int()>& run);

}  // namespace breakstep
