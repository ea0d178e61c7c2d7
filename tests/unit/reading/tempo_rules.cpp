// The rules of the tempo test around its golden traces: cuts, void intervals, our own method, and long streams.
#include <doctest/doctest.h>

#include <cmath>
#include <vector>

#include "allocations.hpp"
#include "core/reading/choice_test.hpp"
#include "core/reading/families.hpp"
#include "core/reading/law.hpp"
#include "core/reading/seconds.hpp"
#include "core/reading/tempo_test.hpp"

using namespace breakstep;
using namespace breakstep::reading;

namespace {

void feed(TempoTest& test, const std::vector<double>& intervals) {
    for (const double interval : intervals) {
        test.predict(400ms);
        test.entered(duration_from(interval));
    }
}

std::vector<double> wealth_of_ours(const std::vector<double>& intervals) {
    TempoTest test(TempoMethod::tight);
    std::vector<double> wealth;
    for (const double interval : intervals) {
        test.predict(400ms);
        test.entered(duration_from(interval));
        wealth.push_back(test.wealth());
    }
    return wealth;
}

void check_close(const std::vector<double>& seen, const std::vector<double>& golden) {
    REQUIRE(seen.size() == golden.size());
    for (std::size_t i = 0; i < golden.size(); ++i) CHECK(seen[i] == doctest::Approx(golden[i]).epsilon(1e-9));
}

}  // namespace

TEST_CASE("our method has golden traces of its own") {
    // Computed from the method's definition by a second program in another language.
    check_close(
        wealth_of_ours({.82, .79, .85, .80, .83, .78, .81, 1.40, .82, .80, .84, .79}),
        {1, 1.5523685602264963, 4.121394310796312, 15.318736650115973, 20.00000002, 80.6615335291942, 471.9493852813581,
         31.847385966131714, 166.7852279423118, 934.0612752555995, 4775.130141990188, 26777.17680115637});
    check_close(wealth_of_ours({.70, 1.30, .72, 1.27, .69, 1.33, .71, 1.29}),
                {1, 0.8245004355345495, 1.4567781640890962, 4.274496684385436, 20.00000002, 107.08590234933767,
                 675.7670832613836, 4321.326207576189});
    check_close(wealth_of_ours({.6, .62, 1.4, .58, .61, 1.45, .6, .6, 1.38}),
                {1, 1.4191554100702541, 0.5036029846779294, 1.1487431705069036, 4.358935423504778, 14.555459100229857,
                 20.00000002, 103.27201109902414, 557.6822904579717});
}

TEST_CASE("a cut interval pays what the bets gave to later moments, and never more than it cost") {
    for (const TempoMethod method : {TempoMethod::plain, TempoMethod::tight}) {
        TempoTest early(method);
        feed(early, {.9, .92, .88, .9, .91});
        TempoTest late = early;
        early.predict(400ms);
        const double before = early.wealth();
        early.cut(600ms);
        CHECK(early.wealth() <= before);
        CHECK(early.wealth() > 0.95 * before);  // nearly all bets lie beyond 0.6 s
        late.predict(400ms);
        late.cut(1300ms);
        CHECK(late.wealth() < 0.5 * before);  // the athlete did not come when the bets said
    }
}

TEST_CASE("a cue within the shortest interval makes it void") {
    TempoTest test;
    feed(test, {.9, .92, .88});
    const double before = test.log_wealth();
    const std::uint64_t known = test.history().size();
    test.predict(400ms);
    CHECK_FALSE(test.cut(400ms).has_value());
    CHECK(test.log_wealth() == before);
    CHECK(test.history().size() == known);
}

TEST_CASE("a void interval changes no wealth, but may teach the centres") {
    TempoTest test;
    feed(test, {.9, .92, .88});
    const double before = test.log_wealth();
    test.predict(400ms);
    test.nothing();
    CHECK(test.history().size() == 3);
    test.predict(400ms);
    test.nothing(900ms);
    CHECK(test.history().size() == 4);
    CHECK(test.log_wealth() == before);
}

TEST_CASE("a cut interval is imputed for the centres: what was seen beyond the cue, else 15 % more") {
    TempoTest test;
    feed(test, {.8, 1.2, .8, 1.4});
    test.predict(400ms);
    test.cut(1s);
    CHECK(test.history().interval(1) == doctest::Approx(1.3).epsilon(1e-12));  // median of 1.2 and 1.4
    CHECK_FALSE(test.history().observed(1));
    test.predict(400ms);
    test.cut(2s);
    CHECK(test.history().interval(1) == doctest::Approx(2.3).epsilon(1e-12));
    test.predict(400ms);
    test.cut(1s, 1300ms);  // aimed at the window: only what lies beyond its end counts
    CHECK(test.history().interval(1) == doctest::Approx(1.4).epsilon(1e-12));
}

TEST_CASE("an announced window counts as missed only if it ended before the cue") {
    TempoTest test;
    feed(test, {.9, .9, .9, .9});
    TempoTest other = test;
    REQUIRE(test.predict(400ms).window.has_value());
    CHECK_FALSE(test.cut(900ms).has_value());
    other.predict(400ms);
    const auto outcome = other.cut(1200ms);
    REQUIRE(outcome.has_value());
    CHECK_FALSE(outcome->hit);
}

TEST_CASE("a cut interval adds its part to the pace's sum and nothing to its number") {
    TempoTest test;
    feed(test, {.9, 1.1});
    CHECK(test.pace_seconds(400ms) == doctest::Approx(1.0).epsilon(1e-12));
    test.predict(400ms);
    test.cut(700ms);
    CHECK(test.pace_seconds(400ms) == doctest::Approx(1.15).epsilon(1e-12));  // 0.4 + (0.5 + 0.7 + 0.3) / 2
    feed(test, {9.0});
    CHECK(test.pace_seconds(400ms) == doctest::Approx(2.95).epsilon(1e-12));  // more than 4 s: 3.6 to the sum alone
}

TEST_CASE("our method stops at what a tell needs, and goes on from there") {
    TempoTest test(TempoMethod::tight);
    double largest_step = 0;
    for (int i = 0; i < 30; ++i) {
        test.predict(400ms, 12.0);
        const double before = test.wealth();
        test.entered(900ms);
        if (before < 12.0) largest_step = std::max(largest_step, test.wealth());
    }
    CHECK(largest_step <= 12.0 * (1 + 1e-8));
    CHECK(test.wealth() > 1e6);
}

TEST_CASE("a million intervals: the wealth neither overflows nor loses its way, and nothing is allocated") {
    for (const TempoMethod method : {TempoMethod::plain, TempoMethod::tight}) {
        TempoTest test(method);
        InventedAthlete athlete(Family::metronome_10, 5, 1);
        const int count = method == TempoMethod::plain ? 1'000'000 : 100'000;
        std::uint64_t after_warm_up = 0;
        for (int i = 0; i < count; ++i) {
            if (i == 300) after_warm_up = test::allocations();
            test.predict(400ms);
            test.entered(duration_from(athlete.next()));
        }
        CHECK(test::allocations() == after_warm_up);
        CHECK(std::isfinite(test.log_wealth()));
        CHECK(test.log_wealth() > count * 0.5);
        CHECK(test.wealth() <= 1e300);
    }
}

TEST_CASE("a million choices: the log wealth is that of exact arithmetic, and nothing is allocated") {
    ChoiceTest test(2);
    std::uint64_t after_warm_up = 0;
    for (int i = 0; i < 1'000'000; ++i) {
        if (i == 300) after_warm_up = test::allocations();
        test.look(static_cast<std::uint8_t>(i % 2));
    }
    CHECK(test::allocations() == after_warm_up);
    // A perfect guesser gains ln 2 each time; learning costs a few per cent of a bit in all.
    const double ceiling = 1e6 * std::log(2.0);
    CHECK(test.log_wealth_free() < ceiling);
    CHECK(test.log_wealth_free() > ceiling - 20.0);
}
