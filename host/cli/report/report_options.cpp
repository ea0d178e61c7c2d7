// Kept apart: includes the command line library.
#include <CLI/CLI.hpp>

#include <memory>

#include "cli/report/report.hpp"
#include "cli/shared_options.hpp"

namespace breakstep {
namespace {

using Command = int (*)(const ReportArguments&);

void add_term(CLI::App& app, ProgressArguments& term) {
    app.add_flag("--end-of-term", term.end_of_term,
                 "claim by the end-of-term rule: look once, when the term is over; without it claims are provisional");
    app.add_option("--from", term.from, "the term's first day: 2026-09-01");
    app.add_option("--to", term.to, "its last day");
    app.add_option("--measure", term.measure,
                   "what is claimed: \"on-time rate\" (in tests), or an imported measure; fix it before you look");
    app.add_option("--better", term.better, "which way the imported measure gets better")
        ->check(CLI::IsMember({"lower", "higher"}));
}

void add_files(CLI::App& app, ReportArguments& arguments) {
    add_store(app, arguments.term.common);
    app.add_option("--out", arguments.folder, "the folder to write to, made if missing");
    app.add_option("--format", arguments.format, "pdf, png (150 dots an inch) or svg (an athlete's charts too)")
        ->check(CLI::IsMember({"pdf", "png", "svg"}));
    app.add_flag("--grey", arguments.grey, "as a printer without colours prints it");
    app.add_flag("--with-names", arguments.with_names,
                 "real names beside the call-signs: without this they stay in the store");
    app.add_flag("--overwrite", arguments.overwrite, "also overwrite files that are not reports");
}

}  // namespace

void add_reports(CLI::App& app, std::function<int()>& run) {
    auto* report = app.add_subcommand("report", "pages to print: an athlete's to take home, the group's, an evening's");
    report->require_subcommand(1);
    const auto arguments = std::make_shared<ReportArguments>();
    const auto add = [&](const char* name, const char* text, Command command) {
        auto* sub = report->add_subcommand(name, text);
        add_files(*sub, *arguments);
        sub->callback([arguments, command, &run] { run = [arguments, command] { return command(*arguments); }; });
        return sub;
    };
    auto* athlete = add("athlete", "one A4 page to take home, compared with nobody else", report_athletes);
    athlete->add_option("call-sign", arguments->athlete, "the athlete");
    athlete->add_flag("--all", arguments->all, "a page for each athlete of these days");
    athlete->add_option("--group", arguments->term.group, "with --all: the athletes of one group");
    add_term(*athlete, arguments->term);
    auto* group = add("group", "every athlete a row, by call-sign, and the plan", report_group);
    group->add_option("--group", arguments->term.group, "the athletes of one group");
    add_term(*group, arguments->term);
    auto* evening = add("evening", "one date: who trained, at what, and what was odd", report_evening);
    evening->add_option("date", arguments->evening, "2026-11-03, or `last`");
}

}  // namespace breakstep
