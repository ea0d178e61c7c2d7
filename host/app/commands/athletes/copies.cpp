// backup and restore.
#include <fmt/format.h>

#include <iostream>

#include "app/commands/athletes/athletes_json.hpp"
#include "app/commands/athletes/shared.hpp"
#include "app/commands/session_setup.hpp"

namespace breakstep {
namespace {

int back_up_from(const Store& store, const std::string& file, bool noted) {
    if (const auto copied = store.backup(file); !copied)
        return complain(copied.error(), copied.error().kind == ErrorKind::bad_input ? exit_bad_input : exit_not_kept);
    std::cout << fmt::format("{} copied to {}\n", store.path().string(), file);
    if (!noted)
        std::cerr << "The store is in use, so it could not note where this backup is: remember it when you erase an "
                     "athlete.\n";
    return exit_done;
}

void print_restore(const RestoreReport& report, const std::string& store) {
    std::cout << fmt::format("{} holds {}, {} and {} now\n", store, count_of(report.athletes, "athlete"),
                             count_of(report.sessions, "session"), count_of(report.measures, "imported value"));
    if (!report.replaced.empty())
        std::cout << fmt::format("the store that was there is kept as {}\n", report.replaced.string());
}

}  // namespace

int back_up(const KeepingOptions& options) {
    const auto settings = load_settings(options.common.settings);
    if (!settings) return complain(settings.error());
    // A backup of nothing must not make a store: looked at first. Then opened for writing, so that the copy is noted.
    auto store = open_store(options.common, *settings, StoreMode::read_only);
    if (!store) return complain(store.error());
    const auto writable = open_store(options.common, *settings, StoreMode::own_thread);
    if (writable) return back_up_from(**writable, options.file, true);
    if (writable.error().kind == ErrorKind::damaged) return complain(writable.error());
    return back_up_from(**store, options.file, false);
}

int restore(const KeepingOptions& options) {
    const auto settings = load_settings(options.common.settings);
    if (!settings) return complain(settings.error());
    const std::filesystem::path store = store_path(options.common, *settings);
    if (!options.common.store && settings->store.empty()) {
        std::error_code ignored;  // told by restore_store, which misses the folder
        std::filesystem::create_directories(store.parent_path(), ignored);
    }
    const auto report = restore_store(options.file, store, unix_now());
    if (!report)
        return complain(report.error(), report.error().kind == ErrorKind::bad_input ||
                                                report.error().kind == ErrorKind::not_found ||
                                                report.error().kind == ErrorKind::damaged ||
                                                report.error().kind == ErrorKind::incompatible
                                            ? exit_bad_input
                                            : exit_not_kept);
    if (options.common.json)
        std::cout << restore_json(*report);
    else
        print_restore(*report, store.string());
    return exit_done;
}

}  // namespace breakstep
