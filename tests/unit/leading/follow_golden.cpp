// The golden traces of who-leads-whom. They were computed from the definition by a second program, in another language,
// and are kept to the digits given: 1e-8 in ln wealth and better where the wealth is large.
#include <doctest/doctest.h>

#include <cmath>
#include <vector>

#include "core/leading/coin_drill.hpp"
#include "core/leading/follow_test.hpp"
#include "core/leading/move_follow.hpp"
#include "core/reading/law.hpp"
#include "core/reading/seconds.hpp"

using namespace breakstep;
using namespace breakstep::leading;
using reading::duration_from;

namespace {

struct Seen {
    double length;
    std::vector<double> acts;
};
struct Trace {
    std::vector<double> e, x;
    FollowTest test;
};

Trace trace_of(const std::vector<Seen>& intervals) {
    Trace trace;
    Duration now = 5s;
    trace.test.entered(now);
    for (const Seen& seen : intervals) {
        for (const double act : seen.acts) trace.test.acted(now + duration_from(act));
        now += duration_from(seen.length);
        trace.test.entered(now);
        trace.e.push_back(trace.test.log_e());
        trace.x.push_back(trace.test.log_x());
    }
    return trace;
}

// Golden wealths carry six decimals: half of the last one, as a part of the wealth, or 1e-8.
void check_logs(const std::vector<double>& logs, const std::vector<double>& golden) {
    REQUIRE(logs.size() == golden.size());
    for (std::size_t i = 0; i < golden.size(); ++i)
        CHECK(std::abs(logs[i] - std::log(golden[i])) <= std::max(1e-8, 5.1e-7 / golden[i]));
}

}  // namespace

TEST_CASE("before any data the own forecast has the golden density and survival") {
    const OwnForecast own(0.4);
    CHECK(std::abs(own.density(1) - .447223) <= 5.1e-7);
    CHECK(std::abs(own.survival(1) - .481913) <= 5.1e-7);
    CHECK(own.survival(0) == 1.0);
    CHECK(std::abs(reading::t9_above(1) - .171718) <= 5.1e-7);
    CHECK(std::abs(reading::t9_above(-2.5) - .983069) <= 5.1e-7);
}

TEST_CASE("one who follows is told at the golden interval with the golden wealths") {
    const Trace trace = trace_of({{1.31, {.84}},
                                  {.95, {.52}},
                                  {1.72, {.35, 1.30}},
                                  {.88, {}},
                                  {1.20, {.71}},
                                  {2.10, {1.66}},
                                  {1.04, {.58}},
                                  {1.47, {.30, .99}},
                                  {.79, {.36}},
                                  {1.85, {1.42}},
                                  {1.12, {.70}},
                                  {.97, {.50}},
                                  {1.60, {.61}},
                                  {1.38, {.90}},
                                  {2.25, {1.81}},
                                  {1.08, {.66}}});
    check_logs(trace.e,
               {1.742024, 6.360120, 5.010131, 5.010131, 16.548937, 55.717138, 203.209783, 135.139579, 861.398434,
                3005.520577, 11985.189892, 48706.095288, 9993.353236, 24845.186012, 84215.129955, 417299.212678});
    check_logs(trace.x, {1.000000, 1.569984, 1.569984, .841575, 1.247326, 1.247326, 2.780013, 2.554487, 6.361687,
                         13.550451, 34.528226, 82.828003, 33.670110, 84.511547, 126.862175, 309.748051});
    CHECK(trace.test.hunch_at() == 10);
    CHECK(trace.test.tell_at() == 11);
    CHECK(trace.test.sign() == Sign::tell);
    CHECK(trace.test.count().hits == 13);
    CHECK(trace.test.count().of == 17);
    CHECK(std::abs(trace.test.count().chance - 3.772414) <= 5.1e-7);
    CHECK(trace.test.leading_lag() == doctest::Approx(.432));
    CHECK(std::abs(trace.test.own().density(.9) - .541929) <= 5.1e-7);
    CHECK(std::abs(trace.test.own().survival(.9) - .837542) <= 5.1e-7);
}

TEST_CASE("two beats side by side give the golden wealths, and nothing is said") {
    const Trace trace = trace_of({{.90, {.47}},
                                  {.93, {.46}},
                                  {.87, {.43}},
                                  {.91, {.45}},
                                  {.89, {.44}},
                                  {.94, {.49}},
                                  {.88, {.46}},
                                  {.90, {.45}},
                                  {.92, {.43}},
                                  {.86, {.42}},
                                  {.91, {.45}},
                                  {.90, {.46}}});
    check_logs(trace.e, {1.631850, 2.149603, 2.425852, 2.350337, 2.160286, 2.160020, 1.897956, 1.569678, 1.144553,
                         1.074452, .826839, .649198});
    check_logs(trace.x, {1.000000, .987395, .997908, .997889, .991040, 1.112028, 1.129925, 1.128245, 1.031258, 1.048505,
                         1.058369, 1.085108});
    CHECK(trace.test.sign() == Sign::none);
    CHECK(trace.test.count().hits == 11);
    CHECK(trace.test.count().of == 12);
    CHECK(std::abs(trace.test.count().chance - 9.137437) <= 5.1e-7);
    CHECK(std::abs(trace.test.own().density(.9) - 6.701572) <= 5.1e-7);
    CHECK(std::abs(trace.test.own().survival(.9) - .513568) <= 5.1e-7);
}

TEST_CASE("the coin drill gives the golden wealth") {
    const std::vector<int> coins{1, 0, 1, 1, 0, 0, 1, 0, 1, 0, 1, 1}, entered{1, 0, 1, 0, 0, 1, 1, 0, 1, 0, 1, 1};
    const std::vector<double> golden{1.333333, 1.777778, 2.666667, 1.333333, 1.600000, .640000,
                                     .853333,  1.137778, 1.625397, 2.321995, 3.482993, 5.417989};
    CoinDrill drill;
    for (std::size_t i = 0; i < coins.size(); ++i) {
        drill.add(coins[i] == 1, entered[i] == 1);
        CHECK(std::abs(drill.wealth() - golden[i]) <= 5.1e-7);
    }
    CHECK_FALSE(drill.makes_go());
    CHECK(drill.trials() == 12);
    CHECK(drill.after_cue().entered == 6);
    CHECK(drill.after_cue().of == 7);
    CHECK(drill.after_nothing().entered == 1);
}

TEST_CASE("advance and retreat give the golden wealths") {
    const std::vector<std::uint8_t> other{0, 1, 1, 0, 1, 0, 0, 1, 1, 1, 0, 0, 1, 0, 1,
                                          1, 0, 0, 0, 1, 0, 1, 1, 0, 1, 0, 0, 1, 0, 1};
    const auto trace = [&](const auto& answer) {
        MoveFollow moves;
        std::vector<double> logs;
        for (std::size_t i = 0; i < other.size(); ++i) {
            moves.other_moved(other[i]);
            moves.moved(answer(i));
            if (i % 10 == 9) logs.push_back(moves.log_e());
        }
        CHECK(moves.hits() == 27);
        CHECK(moves.seen() == 30);
        return logs;
    };
    const auto check = [](const std::vector<double>& seen, const std::vector<double>& golden) {
        for (std::size_t i = 0; i < golden.size(); ++i) CHECK(std::abs(seen[i] - golden[i]) <= 5.1e-7);
    };
    check(trace([&](std::size_t i) { return i == 7 || i == 18 ? static_cast<std::uint8_t>(1 - other[i]) : other[i]; }),
          {.480689, 1.223541, 5.459134});
    check(trace([&](std::size_t i) {
              return static_cast<std::uint8_t>(i > 0 && other[i] == 0 && other[i - 1] == 0 ? 1 : 0);
          }),
          {-2.051939, .277906, 2.399058});
}
