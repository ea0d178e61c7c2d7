// backup, restore and check.
#include <fmt/format.h>

#include <iostream>

#include "cli/athletes/shared.hpp"
#include "cli/consent/tonight_store.hpp"
#include "cli/session_setup.hpp"
#include "club/athletes/athletes_json.hpp"
#include "club/athletes/naming.hpp"
#include "files/place.hpp"

namespace breakstep {
namespace {

// A file that was named, rather than the disk.
bool is_of_what_was_typed(const Error& error) {
    return error.kind == ErrorKind::bad_input || error.kind == ErrorKind::not_found ||
           error.kind == ErrorKind::damaged || error.kind == ErrorKind::incompatible;
}

void print_restore(const Restored& report, const std::string& store) {
    std::cout << fmt::format("{} holds {}, {} and {} now\n", store, count_of(report.athletes, "athlete"),
                             count_of(report.sessions, "session"), count_of(report.measures, "imported value"));
    if (!report.replaced.empty())
        std::cout << fmt::format("the store that was there is kept as {}\n", report.replaced.string());
}

}  // namespace

int back_up(const KeepingOptions& options) {
    const auto settings = load_settings(options.common.settings);
    if (!settings) return complain(settings.error());
    const auto store = open_store(options.common, *settings, StoreMode::read_only);
    if (!store) return complain(store.error());
    if (const auto may = may_be_copied((*store)->path()); !may) return complain(may.error());
    if (const auto whole = (*store)->verify(cache_folder() / "found-whole"); !whole) return complain(whole.error());
    const auto made = (*store)->backup(options.file);
    if (!made) return complain(made.error(), is_of_what_was_typed(made.error()) ? exit_bad_input : exit_not_kept);
    std::cout << fmt::format("{} copied to {}\n", (*store)->path().string(), options.file);
    if (!made->noted)
        std::cerr << "The store can't be written, so it could not note where this backup is: remember it when you "
                     "erase an athlete.\n";
    return exit_done;
}

int check_store(const KeepingOptions& options) {
    const auto settings = load_settings(options.common.settings);
    if (!settings) return complain(settings.error());
    const auto store = open_store(options.common, *settings, StoreMode::read_only);
    if (!store) return complain(store.error());
    const auto verified = (*store)->verify();
    if (!verified) return complain(verified.error());
    if (const auto readable = (*store)->check(); !readable) return complain(readable.error());
    if (options.common.json) {
        std::cout << check_json(*verified);
        return exit_done;
    }
    std::cout << fmt::format("{} is whole: {}, all as they were written\n", (*store)->path().string(),
                             count_of(verified->sessions, "session"));
    if (verified->sessions_without_sum > 0)
        std::cout << fmt::format("of {} no checksum was kept: they can be read, but not be compared\n",
                                 verified->sessions_without_sum);
    return exit_done;
}

int restore(const KeepingOptions& options) {
    const auto settings = load_settings(options.common.settings);
    if (!settings) return complain(settings.error());
    const std::filesystem::path store = store_path(options.common, *settings);
    for (const std::filesystem::path& named : {std::filesystem::path(options.file), store})
        if (const auto may = may_be_copied(named); !may) return complain(may.error());
    if (!options.common.store && settings->store.empty()) {
        if (const auto made = files::make_folder(store.parent_path()); !made)
            return complain(made.error(), exit_not_kept);
    }
    const auto report = restore_store(options.file, store, unix_now(), options.even_damaged);
    if (!report) return complain(report.error(), is_of_what_was_typed(report.error()) ? exit_bad_input : exit_not_kept);
    if (options.common.json)
        std::cout << restore_json(*report);
    else
        print_restore(*report, store.string());
    return exit_done;
}

}  // namespace breakstep
