// Kept apart: the one file here that includes the command line library.
#include "cli/timeable/options.hpp"

#include <CLI/CLI.hpp>

#include <algorithm>
#include <cmath>
#include <ostream>
#include <vector>

#include "cli/timeable/number_within.hpp"
#include "core/reading/choice_test.hpp"
#include "core/reading/law.hpp"
#include "core/reading/seconds.hpp"

namespace breakstep::timeable {
namespace {

constexpr const char* footer =
    "The list has a header row that names its column: time_s (when each step-in was, in seconds), interval_s (from\n"
    "one to the next) or choice (0, 1, ...). With --rows each row is a drill of its own, without a header, and gives\n"
    "one line of JSON. Of lists of an athlete who can't be timed at most 1 in 20 gives \"yes\", at most 1 in 8\n"
    "\"maybe\".";

/// True if parsing went on; else the answer is printed and `exit_code` set.
bool parse(CLI::App& app, std::span<const std::string> arguments, std::ostream& out, std::ostream& err,
           int& exit_code) {
    // The library takes them last first.
    std::vector<std::string> reversed(arguments.rbegin(), arguments.rend());
    try {
        app.parse(std::move(reversed));
        return true;
    } catch (const CLI::CallForHelp&) {
        out << app.help();
        exit_code = 0;
    } catch (const CLI::ParseError& error) {
        err << "breakstep " << app.get_name() << ": " << shown_text(error.what()) << "; see breakstep "
            << app.get_name() << " --help\n";
        exit_code = 2;
    }
    return false;
}

}  // namespace

std::optional<Options> parse_timeable(std::span<const std::string> arguments, std::ostream& out, std::ostream& err,
                                      int& exit_code) {
    Options options;
    std::string rows;
    std::string method = "tight";
    double shortest = reading::shortest_entry_seconds;
    CLI::App app("Can a rhythm be timed? Reads a list of times, intervals or choices.", "timeable");
    app.footer(footer);
    app.add_option("FILE", options.file, "a CSV file, or - for standard input");
    app.add_flag("--json", options.json, "print one JSON object");
    app.add_flag("--details", options.details, "the wealth behind the words, and what it promises");
    app.add_option("--rows", rows, "each row is a drill, without a header")
        ->check(CLI::IsMember({"intervals", "choices"}));
    app.add_option("--r", shortest, "the shortest interval in which the athlete can enter again, in seconds")
        ->check(number_within(0.001, 1e6))
        ->capture_default_str();
    app.add_option("--symbols", options.symbols, "choices are the integers 0 .. A-1")
        ->check(CLI::Range(std::size_t{2}, reading::symbols_max))
        ->capture_default_str();
    app.add_flag("--habit", options.habit, "test choices as a habit (no symbol above p*), not as a free choice");
    // `standard` and `ours` are what they were called once.
    app.add_option("--method", method,
                   "tight: bets as much as the promise allows, as two signs do; plain: to its published golden values")
        ->check(CLI::IsMember({"tight", "plain", "ours", "standard"}))
        ->capture_default_str();
    app.add_flag("--table", options.table, "print the table of false tells and power on invented athletes");
    app.add_flag("--leans", options.leans, "table: of whole drills against an opponent that leans before it kicks");
    app.add_flag("--whole", options.whole, "table: of whole drills, for each way in which attacks start");
    app.add_flag("--apart", options.apart, "table of whole drills: sets lie apart by others' turns, as in an evening");
    app.add_flag("--known", options.known,
                 "table of whole drills: two signs alone, each also with a prior of earlier days; others than the "
                 "honest get a tenth of the drills");
    app.add_option("--drills", options.drills,
                   "table: drills of each athlete; --whole takes a thousand if nothing is said")
        ->default_val(20000)
        ->check(CLI::Range(std::uint64_t{10}, std::uint64_t{10'000'000}));
    app.add_option("--seed", options.seed, "table: the same seed gives the same table")
        ->default_val(1)
        ->check(whole_number());
    if (!parse(app, arguments, out, err, exit_code)) return std::nullopt;

    exit_code = 2;
    if (!std::isfinite(shortest)) {  // "nan" lies in every range, as the library compares
        err << "breakstep timeable: --r is not a number that can be counted with; give it in seconds, such as 0.4\n";
        return std::nullopt;
    }
    if (options.table == !options.file.empty()) {
        err << (options.table ? "breakstep timeable: --table reads no file; leave out " + options.file + "\n"
                              : std::string("breakstep timeable: no list was named; name a CSV file, or - for standard "
                                            "input\n"));
        return std::nullopt;
    }
    if (options.whole && !options.table) {
        err << "breakstep timeable: --whole is of the table; add --table\n";
        return std::nullopt;
    }
    if (options.leans && !options.table) {
        err << "breakstep timeable: --leans is of the table; add --table\n";
        return std::nullopt;
    }
    if (options.leans && app.count("--drills") == 0) options.drills = 300;
    if (options.apart && !options.whole) {
        err << "breakstep timeable: --apart is of whole drills; add --table --whole\n";
        return std::nullopt;
    }
    if (options.known && !options.whole) {
        err << "breakstep timeable: --known is of whole drills; add --table --whole\n";
        return std::nullopt;
    }
    if (options.whole && app.count("--drills") == 0) options.drills = 1'000;
    if (options.habit && options.symbols > 4) {
        err << "breakstep timeable: --habit takes at most 4 symbols, not " << options.symbols
            << "; put the rarer ones together, or leave out --habit\n";
        return std::nullopt;
    }
    options.rows = rows == "intervals" ? Rows::intervals : rows == "choices" ? Rows::choices : Rows::none;
    const bool plain = method == "plain" || method == "standard";
    options.method = plain ? reading::TempoMethod::plain : reading::TempoMethod::tight;
    options.shortest = reading::duration_from(shortest);
    return options;
}

std::optional<TapOptions> parse_tap(std::span<const std::string> arguments, std::ostream& out, std::ostream& err,
                                    int& exit_code) {
    TapOptions options;
    CLI::App app("Tap the space bar at each step-in, along with a video: makes a list for `timeable`.", "tap");
    app.footer("Space or Enter: a step-in. Backspace: take the last one back. q or Escape: done.");
    app.add_option("FILE", options.file, "where the list goes; standard output if left out");
    if (!parse(app, arguments, out, err, exit_code)) return std::nullopt;
    return options;
}

}  // namespace breakstep::timeable
