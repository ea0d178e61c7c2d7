// rescue: what is whole in a damaged store, into a new one.
#include <fmt/format.h>

#include <iostream>

#include "cli/athletes/shared.hpp"
#include "cli/consent/tonight_store.hpp"
#include "cli/session_setup.hpp"
#include "club/athletes/athletes_json.hpp"
#include "club/athletes/naming.hpp"
#include "store/text_rules.hpp"

namespace breakstep {
namespace {

void print_losses(const Rescued& rescued) {
    if (rescued.athletes_without_row > 0)
        std::cout << fmt::format("  athletes of whom all but the call-sign is lost, or that too: {}\n",
                                 rescued.athletes_without_row);
    if (!rescued.journals_cut.empty())
        std::cout << fmt::format(
            "  sessions whose journal is cut (results that are there stay; rescoring sees the beginning only): {}\n",
            fmt::join(rescued.journals_cut, ", "));
    if (!rescued.results_changed.empty())
        std::cout << fmt::format(
            "  sessions whose results are not those that were kept (score them again: `rescore`): {}\n",
            fmt::join(rescued.results_changed, ", "));
    if (!rescued.sessions_changed.empty())
        std::cout << fmt::format("  sessions whose record is not the one that was kept: {}\n",
                                 fmt::join(rescued.sessions_changed, ", "));
    if (!rescued.tables_changed.empty())
        std::cout << fmt::format("  lists that are not as they were kept: {}\n",
                                 fmt::join(rescued.tables_changed, ", "));
    if (rescued.sessions_rebuilt > 0)
        std::cout << fmt::format("  sessions put together again from their journal: {}\n", rescued.sessions_rebuilt);
    if (rescued.reps_missing > 0) std::cout << fmt::format("  reps that are lost: {}\n", rescued.reps_missing);
    if (rescued.rows_dropped + rescued.rows_unreadable > 0)
        std::cout << fmt::format("  rows that could not be used: {}, not be read: {}\n", rescued.rows_dropped,
                                 rescued.rows_unreadable);
    if (rescued.numbers_missing > 0)
        std::cout << fmt::format("  session numbers that stand for none (lost, or of erased athletes): {}\n",
                                 rescued.numbers_missing);
}

void print_rescue(const Rescued& rescued, const std::string& damaged, const std::string& fresh) {
    std::cout << fmt::format("saved into {}: {}, {}, {}, {}\n", fresh, count_of(rescued.athletes, "athlete"),
                             count_of(rescued.sessions, "session"), count_of(rescued.reps, "rep"),
                             count_of(rescued.measures, "imported value"));
    std::cout << (rescued.whole() ? "all that was found is whole\n" : "not whole:\n");
    print_losses(rescued);
    std::cout << fmt::format(
        "Pages that are gone leave no trace: compare with a backup if there is one. The damaged store is as it was.\n"
        "To go on with what was saved: breakstep restore {} --store {} --even-damaged\n",
        shell_word(fresh), shell_word(damaged));
}

}  // namespace

int rescue(const KeepingOptions& options) {
    const auto settings = load_settings(options.common.settings);
    if (!settings) return complain(settings.error());
    const std::string damaged = store_path(options.common, *settings).string();
    if (const auto may = may_be_copied(damaged); !may) return complain(may.error());
    const auto rescued = rescue_store(damaged, options.file, unix_now());
    if (!rescued)
        return rescued.error().kind == ErrorKind::damaged || rescued.error().kind == ErrorKind::system
                   ? complain(rescued.error(), exit_not_kept)
                   : complain(rescued.error());
    if (options.common.json)
        std::cout << rescue_json(*rescued);
    else
        print_rescue(*rescued, damaged, options.file);
    return exit_done;
}

}  // namespace breakstep
