// The command `timeable` as a stranger meets it: what it reads, prints and refuses.
#include <doctest/doctest.h>
#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "cli/timeable/timeable.hpp"
#include "core/random.hpp"
#include "places.hpp"

using namespace breakstep;

namespace {

struct Run {
    int exit_code;
    std::string out;
    std::string err;
};

Run run(std::vector<std::string> arguments, const std::string& input = "") {
    std::istringstream in(input);
    std::ostringstream out;
    std::ostringstream err;
    const int exit_code = run_timeable(arguments, in, out, err);
    return {exit_code, out.str(), err.str()};
}

Run read(const std::string& input, std::vector<std::string> more = {}) {
    more.insert(more.begin(), "-");
    return run(std::move(more), input);
}

bool holds(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

/// The number after "name": in a line of JSON; NaN for null.
double number_of(const std::string& json, const std::string& name) {
    const std::size_t at = json.find("\"" + name + "\":");
    REQUIRE(at != std::string::npos);
    const std::string rest = json.substr(at + name.size() + 3);
    return rest.starts_with("null") ? std::nan("") : std::stod(rest);
}

constexpr const char* golden = ".82,.79,.85,.80,.83,.78,.81,1.40,.82,.80,.84,.79\n";

/// Intervals of a file of tests/data, scaled to a mean of 1.2 s and, if asked, shuffled.
std::string scaled(const std::string& file, std::uint64_t shuffle_seed = 0) {
    std::ifstream in(std::string(BREAKSTEP_SOURCE_DIR) + "/tests/data/" + file);
    REQUIRE(in.good());
    std::string header;
    in >> header;
    std::vector<double> values;
    for (double value; in >> value;) values.push_back(value);
    REQUIRE(values.size() >= 24);
    if (shuffle_seed != 0) Random(shuffle_seed).shuffle(values);
    double mean = 0;
    for (const double value : values) mean += value / static_cast<double>(values.size());
    std::ostringstream list;
    list.precision(15);
    list << "interval_s\n";
    for (const double value : values) list << value * 1.2 / mean << '\n';
    return list.str();
}

}  // namespace

TEST_CASE("a row of intervals gives one line of JSON with the golden values") {
    // The plain method's golden trace.
    const Run result = read(golden, {"--rows", "intervals", "--method", "plain"});
    CHECK(result.exit_code == 0);
    CHECK(result.err.empty());
    CHECK(std::abs(number_of(result.out, "wealth") - 84963.962732) < 5.1e-6);
    CHECK(number_of(result.out, "hunch_at") == 4);
    CHECK(number_of(result.out, "tell_at") == 5);
    CHECK(number_of(result.out, "hits") == 8);
    CHECK(number_of(result.out, "scored") == 9);
    CHECK(std::abs(number_of(result.out, "chance") - 2.458316) < 5.1e-7);
    CHECK(std::abs(number_of(result.out, "timeable") - 84.7134) < 5.1e-5);
    CHECK(holds(result.out, "\"cause\":\"one beat\""));
    CHECK(std::count(result.out.begin(), result.out.end(), '\n') == 1);
}

TEST_CASE("an index that may not be shown is null, and so are signs that were not raised") {
    const Run result = read(".70,1.30,.72,1.27\n", {"--rows", "intervals", "--method", "plain"});
    CHECK(std::abs(number_of(result.out, "wealth") - 2.452619) < 5.1e-7);  // the second golden trace
    CHECK(std::isnan(number_of(result.out, "timeable")));
    CHECK(std::isnan(number_of(result.out, "tell_at")));
    CHECK(std::isnan(number_of(result.out, "hunch_at")));
    CHECK(holds(result.out, "\"cause\":null"));
}

TEST_CASE("rows of choices are tested as free choices, or as habits") {
    // The method's golden values: ln U 3.413183, ln T 1.848738; A = 3: 8.199746 and 4.750280.
    const std::string row = "0,0,1,0,0,1,0,0,1,0,0,1,0,0,1\n";
    const auto wealth = [&](std::vector<std::string> more) {
        more.insert(more.end(), {"--rows", "choices"});
        return std::log(number_of(read(row, more).out, "wealth"));
    };
    CHECK(std::abs(wealth({}) - 3.413183) < 1e-6);
    CHECK(std::abs(wealth({"--habit"}) - 1.848738) < 1e-6);
    CHECK(std::abs(wealth({"--symbols", "3"}) - 8.199746) < 1e-6);
    CHECK(std::abs(wealth({"--symbols", "3", "--habit"}) - 4.750280) < 1e-6);
}

TEST_CASE("times, intervals and rows say the same of the same drill") {
    const std::string times = "time_s\n0\n.82\n1.61\n2.46\n3.26\n4.09\n4.87\n5.68\n7.08\n7.90\n8.70\n9.54\n10.33\n";
    std::string intervals = std::string("interval_s\n") + golden;
    std::replace(intervals.begin(), intervals.end(), ',', '\n');
    const Run by_time = read(times, {"--json"});
    const Run by_interval = read(intervals, {"--json"});
    CHECK(by_time.exit_code == 0);
    CHECK(number_of(by_time.out, "wealth") == doctest::Approx(number_of(by_interval.out, "wealth")).epsilon(1e-9));
    CHECK(number_of(by_interval.out, "wealth") == number_of(read(golden, {"--rows", "intervals"}).out, "wealth"));
}

TEST_CASE("a person reads the sign, the reason and the interval first") {
    std::string list = std::string("interval_s\n") + golden;
    std::replace(list.begin(), list.end(), ',', '\n');
    const Run result = read(list);
    CHECK(holds(result.out, "Can be timed: yes - same beat: 0.82 s, give or take 3 %, five step-ins"));
    CHECK(holds(result.out, "Timeable between 40 and 97 (85): 8 of 9 caught, luck 2"));
    const Run few = read("choice\n0\n1\n1\n0\n");
    CHECK(holds(few.out, "Can be read: no sign"));
    CHECK(holds(few.out, "Under 30 choices a weak habit is not yet measurable."));
}

TEST_CASE("lists are read by the tight bet, and the plain one answers to its name") {
    const auto wealth = [](std::vector<std::string> more) {
        more.insert(more.end(), {"--rows", "intervals"});
        return number_of(read(golden, more).out, "wealth");
    };
    CHECK(wealth({}) == doctest::Approx(26777.17680115637).epsilon(1e-9));  // its golden trace
    CHECK(wealth({"--method", "tight"}) == wealth({}));
    CHECK(wealth({"--method", "ours"}) == wealth({}));
    CHECK(std::abs(wealth({"--method", "plain"}) - 84963.962732) < 5.1e-6);
    CHECK(wealth({"--method", "standard"}) == wealth({"--method", "plain"}));
    CHECK(holds(read("interval_s\n.8\n.9\n", {"--json"}).out, "\"method\":\"tight\""));
    CHECK(holds(read("interval_s\n.8\n.9\n", {"--json", "--method", "plain"}).out, "\"method\":\"plain\""));
}

TEST_CASE("a list below the shortest interval is said to be so, not counted") {
    std::string list = "interval_s\n";
    for (int i = 0; i < 24; ++i) list += i % 2 == 0 ? "0.30\n" : "0.31\n";
    const Run all = read(list);
    CHECK(holds(all.out, "Can be timed: all shorter than r\n"));
    CHECK_FALSE(holds(all.out, "caught"));
    CHECK_FALSE(holds(all.out, "no sign"));
    CHECK(number_of(read(list, {"--json"}).out, "shorter_than_r") == 24);
    const Run one_longer = read(list + "0.9\n");
    CHECK(holds(one_longer.out, "Can be timed: no sign"));
    CHECK(holds(one_longer.out, "(24 shorter: nothing is won on those)"));
    CHECK(holds(read(list, {"--r", "0.2"}).out, "Can be timed: yes"));
}

TEST_CASE("one beat is called a favourite only where others stand beside it") {
    // Beats of 0.8 s in pairs, each pair followed by something else: never three in a row.
    std::string pairs = "interval_s\n";
    const std::vector<std::string> others{"1.55", "2.6", "0.52", "1.9", "3.3", "1.2"};
    for (int i = 0; i < 24; ++i) pairs += "0.80\n0.81\n" + others[static_cast<std::size_t>(i) % others.size()] + "\n";
    std::uint64_t favourites = 0;
    for (const std::string method : {"plain", "tight"}) {
        const Run result = read(pairs, {"--method", method});
        CAPTURE(result.out);
        if (holds(result.out, "one favourite beat: ")) ++favourites;
        for (const char* share : {"100 %", "92 %", "83 %"})
            CHECK_FALSE(holds(result.out, std::string("favourite beat: ") + share));
    }
    CHECK(favourites > 0);
    // Told at the second or third interval, before three were ever in a row.
    const std::string row = "interval_s\n0.80\n0.80\n0.80\n0.80\n0.80\n0.80\n";
    CHECK(holds(read(row).out, "same beat: 0.80 s"));
    CHECK(holds(read(row, {"--json"}).out, "\"cause\":\"one beat\""));
}

TEST_CASE("the shortest interval can be set") {
    const std::string row = ".40,.41,.39,.40,.42,.38,.40,.41\n";
    CHECK(number_of(read(row, {"--rows", "intervals"}).out, "wealth") < 1);
    CHECK(number_of(read(row, {"--rows", "intervals", "--r", "0.25"}).out, "wealth") > 20);
}

TEST_CASE("the geyser's waits are told, shuffled failures are not") {
    for (const std::string method : {"plain", "tight"}) {
        CAPTURE(method);
        for (const char* file : {"geyser_waiting.csv", "faithful_waiting.csv"})
            CHECK(holds(read(scaled(file), {"--method", method}).out, "Can be timed: yes"));
        for (std::uint64_t shuffle_seed = 1; shuffle_seed <= 20; ++shuffle_seed) {
            INFO("failure gaps shuffled with seed ", shuffle_seed);
            CHECK(holds(read(scaled("aircondit7_hours.csv", shuffle_seed), {"--method", method}).out,
                        "Can be timed: no sign"));
        }
    }
}

TEST_CASE("what can't be read is refused with its line and column") {
    const auto refused = [](const std::string& input, std::vector<std::string> more, const std::string& part) {
        const Run result = read(input, std::move(more));
        CAPTURE(input);
        CAPTURE(result.err);
        CHECK(result.exit_code == 2);
        CHECK(result.out.empty());
        CHECK(holds(result.err, part));
    };
    refused("", {}, "standard input is empty");
    refused("\n", {}, "no column is called");
    refused("interval_s\n", {}, "a header and nothing below it");
    refused("time_s\n1\n", {}, "one time only");
    refused("time_s\n1\n2\n1.5\n", {}, "line 4, column 1: the time 1.5 s comes before the one above it, 2 s");
    refused("time_s\n1\n1\n", {}, "line 3, column 1: the time 1 s stands twice");
    refused("interval_s\n.8\n-.3\n", {}, "line 3, column 1: an interval of -.3 s");
    refused("interval_s\n.8\n0\n", {}, "line 3, column 1: an interval of 0 s");
    refused("interval_s\n.8\nnan\n", {}, "line 3, column 1: \"nan\" is not a finite number");
    refused("interval_s\n.8\n-inf\n", {}, "line 3, column 1: \"-inf\" is not a finite number");
    refused("interval_s\n.8\n1e999\n", {}, "not a finite number");
    refused("interval_s\n1e300\n", {}, "out of range");
    refused("interval_s\n1e-12\n", {}, "out of range");
    refused("time_s\n1e300\n", {}, "out of range");
    refused("interval_s\n.8\nfast\n", {}, "line 3, column 1: \"fast\" is not a number");
    refused("interval_s\n.8s\n", {}, "\".8s\" is not a number");
    refused("interval_s\n0,82\n", {}, "write decimals with a point: 0.82, not 0,82");
    refused("interval_s;note\n0,82;x\n", {}, "write decimals with a point: 0.82, not 0,82");
    refused("note,interval_s\nx,.8\ny\n", {}, "line 3: column 2 is missing");
    refused("note,interval_s\nx,\n", {}, "line 2, column 2: the cell is empty");
    refused("interval_s\n.8\n\n.9\n", {}, "line 3 is empty");
    refused("seconds\n.8\n", {}, "no column is called time_s, interval_s or choice");
    refused("time_s,interval_s\n0,1\n", {}, "line 1, column 2: a second column");
    refused("choice\n0\n2\n", {}, "2 is not one of the choices 0 to 1; say how many there are with --symbols");
    refused("choice\n0\n.5\n", {}, "choices are whole numbers");
    refused("choice\n-1\n", {}, "choices are whole numbers");
    refused("", {"--rows", "intervals"}, "is empty");
    refused(".8,,.9\n", {"--rows", "intervals"}, "column 3: a number after an empty cell");
    refused(".8,x\n", {"--rows", "choices"}, "line 1, column 1: .8 is not one of the choices");
    refused(std::string(100'000, 'x'), {}, "more than 65536 bytes");
    refused("choice\n0\n", {"--symbols", "1"}, "--symbols");
    refused("choice\n0\n", {"--symbols", "5", "--habit"}, "at most 4 symbols");
    refused("interval_s\n1\n", {"--r", "0"}, "--r");
    refused("interval_s\n1\n", {"--rows", "times"}, "--rows");
    refused("interval_s\n1\n", {"--method", "best"}, "--method");
    CHECK(run({"/nowhere/list.csv"}).exit_code == 2);
    CHECK(run({}).exit_code == 2);
    CHECK(run({"--table", "list.csv"}).exit_code == 2);
    CHECK(run({"--whole", "list.csv"}).exit_code == 2);
    CHECK(run({"--help"}).exit_code == 0);
}

TEST_CASE("the rows before a bad one have been answered") {
    const Run result = read(".8,.9\n.8,-1\n", {"--rows", "intervals"});
    CHECK(result.exit_code == 2);
    CHECK(std::count(result.out.begin(), result.out.end(), '\n') == 1);
    CHECK(holds(result.err, "line 2, column 2"));
}

TEST_CASE("spreadsheets' habits are understood") {
    const std::string plain = "interval_s\n0.8\n0.9\n0.85\n";
    const std::string wanted = read(plain, {"--json"}).out;
    CHECK(read("\xEF\xBB\xBFinterval_s\r\n0.8\r\n0.9\r\n0.85\r\n\r\n", {"--json"}).out == wanted);
    CHECK(read("note;interval_s\nx;0.8\ny;\"0.9\"\nz; +0.85", {"--json"}).out == wanted);
    CHECK(read("interval_s\tnote\n0.8\ta\n0.9\tb\n0.85\t\n", {"--json"}).out == wanted);
    CHECK(read("0.8,0.9,,,\n", {"--rows", "intervals"}).out == read("0.8,0.9", {"--rows", "intervals"}).out);
}

TEST_CASE("one symbol only is a right answer, not an error") {
    std::string list = "choice\n";
    for (int i = 0; i < 20; ++i) list += "1\n";
    const Run result = read(list);
    CHECK(result.exit_code == 0);
    CHECK(holds(result.out, "Can be read: yes - one favourite: 1, 8 of 8"));
}

TEST_CASE("a million rows and a row of a million are read") {
    std::string list = "interval_s\n";
    std::string row;
    Random random(11);
    for (int i = 0; i < 1'000'000; ++i) {
        const std::string interval = std::to_string(0.4 + random.exponential(0.8));
        list += interval + "\n";
        row += (i == 0 ? "" : ",");
        row += interval;
    }
    // The plain method, for speed: how a list is read does not depend on the bet.
    const Run by_line = read(list, {"--json", "--method", "plain"});
    const Run by_row = read(row, {"--rows", "intervals", "--method", "plain"});
    CHECK(by_line.exit_code == 0);
    CHECK(number_of(by_line.out, "events") == 1'000'000);
    CHECK(number_of(by_line.out, "scored") == 999'997);
    CHECK(number_of(by_row.out, "chance") == number_of(by_line.out, "chance"));
    // Caught as often as chance says: within four standard errors of a coin of about 0.21.
    CHECK(std::abs(number_of(by_line.out, "hits") - number_of(by_line.out, "chance")) < 4 * 410);
}

TEST_CASE("the table is the same for the same seed") {
    const Run first = run({"--table", "--drills", "20", "--seed", "5"});
    CHECK(first.exit_code == 0);
    CHECK(first.out == run({"--table", "--drills", "20", "--seed", "5"}).out);
    CHECK(first.out != run({"--table", "--drills", "20", "--seed", "6"}).out);
    CHECK(holds(first.out, "seed 5"));
    CHECK(holds(first.out, "| metronome 0.9 s, CV 10 % |"));
    CHECK(holds(first.out, "(outside the null)"));
}

TEST_CASE("tapping without a terminal says so") {
    // The test runner's standard input is no terminal; where it is one, there is nothing to check here.
    if (isatty(0) != 0) return;
    std::ostringstream out;
    std::ostringstream err;
    CHECK(run_tap(std::vector<std::string>{}, out, err) == 2);
    CHECK(holds(err.str(), "standard input is not a terminal"));
    CHECK(out.str().empty());
}
