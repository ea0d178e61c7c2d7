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

void print_losses(const RescueReport& report) {
    if (report.athletes_without_row > 0)
        std::cout << fmt::format("  athletes of whom all but the call-sign is lost, or that too: {}\n",
                                 report.athletes_without_row);
    if (!report.journals_cut.empty())
        std::cout << fmt::format(
            "  sessions whose journal is cut (results that are there stay; rescoring sees the beginning only): {}\n",
            fmt::join(report.journals_cut, ", "));
    if (!report.results_changed.empty())
        std::cout << fmt::format(
            "  sessions whose results are not those that were kept (score them again: `rescore`): {}\n",
            fmt::join(report.results_changed, ", "));
    if (!report.sessions_changed.empty())
        std::cout << fmt::format("  sessions whose record is not the one that was kept: {}\n",
                                 fmt::join(report.sessions_changed, ", "));
    if (!report.tables_changed.empty())
        std::cout << fmt::format("  lists that are not as they were kept: {}\n",
                                 fmt::join(report.tables_changed, ", "));
    if (report.sessions_rebuilt > 0)
        std::cout << fmt::format("  sessions put together again from their journal: {}\n", report.sessions_rebuilt);
    if (report.reps_missing > 0) std::cout << fmt::format("  reps that are lost: {}\n", report.reps_missing);
    if (report.rows_dropped + report.rows_unreadable > 0)
        std::cout << fmt::format("  rows that could not be used: {}, not be read: {}\n", report.rows_dropped,
                                 report.rows_unreadable);
    if (report.numbers_missing > 0)
        std::cout << fmt::format("  session numbers that stand for none (lost, or of erased athletes): {}\n",
                                 report.numbers_missing);
}

void print_rescue(const RescueReport& report, const std::string& damaged, const std::string& fresh) {
    std::cout << fmt::format("saved into {}: {}, {}, {}, {}\n", fresh, count_of(report.athletes, "athlete"),
                             count_of(report.sessions, "session"), count_of(report.reps, "rep"),
                             count_of(report.measures, "imported value"));
    std::cout << (report.whole() ? "all that was found is whole\n" : "not whole:\n");
    print_losses(report);
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
    const auto report = rescue_store(damaged, options.file, unix_now());
    if (!report)
        return report.error().kind == ErrorKind::damaged || report.error().kind == ErrorKind::system
                   ? complain(report.error(), exit_not_kept)
                   : complain(report.error());
    if (options.common.json)
        std::cout << rescue_json(*report);
    else
        print_rescue(*report, damaged, options.file);
    return exit_done;
}

}  // namespace breakstep
