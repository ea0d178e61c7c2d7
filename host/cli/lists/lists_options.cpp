// Kept apart: the command line library is slow to compile.
#include <CLI/CLI.hpp>

#include <memory>

#include "cli/lists/lists.hpp"
#include "cli/timeable/number_within.hpp"

namespace breakstep {
namespace {

void add_list(CLI::App& command, ListArguments& list, const char* columns, const char* simulated) {
    auto* file = command.add_option("FILE", list.file, columns);
    command.add_flag("--json", list.json, "print one JSON object");
    command.add_flag("--details", list.details, "the wealths behind the words, and what they promise");
    auto* table =
        command.add_flag("--table", list.table, "simulate instead: print how often it errs and how soon it speaks");
    command.add_option("--simulated", list.simulated, simulated)
        ->default_val(std::uint32_t{3000})
        ->check(CLI::Range(std::uint32_t{10}, std::uint32_t{1'000'000}))
        ->needs(table);
    command.add_option("--seed", list.seed, "table: the same seed gives the same table")
        ->default_val(1)
        ->check(whole_number())
        ->needs(table);
    table->excludes(file);
}

}  // namespace

void add_lists(CLI::App& app, std::function<int()>& run) {
    auto* rung = app.add_subcommand("rung", "is a rung of the ladder passed? Reads a list of counted reps");
    const auto given = std::make_shared<RungArguments>();
    add_list(*rung, given->list, "a CSV file with the columns evening,on_time (0 or 1), in order; - for standard input",
             "table: athletes a cell");
    rung->add_option("--mark", given->mark, "the on-time rate that the rung asks for, above 0.15 and below 1")
        ->default_val(0.5);
    rung->footer(
        "Rows of one evening stand together; when the text of `evening` changes, another evening begins. Of athletes "
        "whose\n"
        "rate is at the mark at most 1 in 20 ever passes, however long they try and whenever one looks.");
    auto* leads = app.add_subcommand("leads", "who leads whom? Reads a list of two people's acts");
    const auto acts = std::make_shared<ListArguments>();
    add_list(*leads, *acts, "a CSV file with the columns time_s,who (a or b), in order of time; - for standard input",
             "table: bouts a row");
    leads->footer(
        "One direction is told falsely in at most 1 of 40 bouts, both in 1 of 20, unless both explanations that it "
        "refutes\n"
        "are wrong at once. A common beat (music, a clap) looks the same.");
    rung->callback([given, &run] { run = [given] { return run_rung(*given); }; });
    leads->callback([acts, &run] { run = [acts] { return run_leads(*acts); }; });
}

}  // namespace breakstep
