#include <CLI/CLI.hpp>

#include <memory>

#include "cli/progress/progress.hpp"
#include "cli/shared_options.hpp"

namespace breakstep {

void add_progress(CLI::App& app, std::function<int()>& run) {
    auto* progress =
        app.add_subcommand("progress", "over a term: who improved beyond noise, at what, and what helps whom");
    const auto arguments = std::make_shared<ProgressArguments>();
    add_store(*progress, arguments->common);
    add_json(*progress, arguments->common);
    progress->add_flag("--end-of-term", arguments->end_of_term,
                       "claim by the end-of-term rule: look once, when the term is over; without it claims are weekly "
                       "looks, stricter and provisional");
    progress->add_flag("--details", arguments->details, "every cell, p-values, variances, the squad's line");
    progress->add_option("--athlete", arguments->athlete, "one athlete's call-sign");
    progress->add_option("--group", arguments->group, "the athletes of one group");
    progress->add_option("--from", arguments->from, "the term's first day: 2026-09-01");
    progress->add_option("--to", arguments->to, "its last day");
    progress->add_option(
        "--measure", arguments->measure,
        "what is claimed: \"on-time rate\" (in tests), or an imported measure; fix it before you look");
    progress->add_option("--better", arguments->better, "which way the imported measure gets better")
        ->check(CLI::IsMember({"lower", "higher"}));
    progress->callback([arguments, &run] { run = [arguments] { return show_progress(*arguments); }; });
}

}  // namespace breakstep
