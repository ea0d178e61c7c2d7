// The level that follows an athlete: where it settles, and what of a set's plan it touches.
#include "core/trade/staircase.hpp"

#include <doctest/doctest.h>

#include <cmath>

#include "core/random.hpp"
#include "core/trade/plan.hpp"
#include "core/trade/rules.hpp"

using namespace breakstep;

TEST_CASE("a level that follows settles where the share on time is the one that was asked for") {
    // Half-windows that hold so many in a hundred of normal errors of 60 ms (CHECKS: R 4.2, qnorm).
    struct Expected {
        double share, half_ms;
    };
    constexpr double error_ms = 60, moment_ms = 240;
    for (const auto& [share, half_ms] : {Expected{0.7071, 63.11}, {0.75, 69.02}, {0.7937, 75.83}, {0.85, 86.37}}) {
        CAPTURE(share);
        Staircase level(share, 1);
        Random random(20261127, static_cast<std::uint64_t>(share * 1e4));
        constexpr int warm_up = 200, reps = 40'000;
        int hits = 0;
        double logs = 0;
        for (int i = 0; i < warm_up + reps; ++i) {
            const bool hit = std::abs(error_ms * random.normal()) < level.window() * moment_ms / 2;
            if (i >= warm_up) {
                hits += hit ? 1 : 0;
                logs += std::log(level.window());
            }
            level.add(hit);
        }
        // Up and down balance, whatever the law of the errors: the share itself is what is promised.
        CHECK(std::abs(static_cast<double>(hits) / reps - share) < 0.01);
        const double middle = std::exp(logs / reps) * moment_ms / 2;
        CHECK(std::abs(middle / half_ms - 1) < 0.06);
    }
}

TEST_CASE("a level stays between its ends, and the pace moves only where the window can't") {
    Staircase hits(0.75, 1), misses(0.75, 0.5);
    for (int i = 0; i < 100; ++i) {
        hits.add(true);
        misses.add(false);
    }
    CHECK(hits.window() == window_narrowest);
    CHECK(misses.window() == window_widest);
    CHECK(Staircase(0.75, std::nan("")).window() == 1);
    CHECK(pace_after(1, hits.window(), 0.75, 9, 10) < 1);
    CHECK(pace_after(1, hits.window(), 0.75, 5, 10) == 1);
    CHECK(pace_after(1, misses.window(), 0.75, 5, 10) > 1);
    CHECK(pace_after(1, misses.window(), 0.75, 9, 10) == 1);
    CHECK(pace_after(1, 0.7, 0.75, 2, 10) == 1);
    CHECK(pace_after(1, misses.window(), 0.75, 0, 5) == 1);  // too few to say
    CHECK(pace_after(pace_slowest, 1, 0.75, 0, 10) == pace_slowest);
}

TEST_CASE("of the sets after the first a secret third keeps the drill's own pace, nothing else of the plan changes") {
    Drill drill;
    drill.attacks = {AttackChoice{}};
    drill.opponent.spread = 0;
    drill.following.follows = true;
    drill.reps = 60;
    int counted = 0, all = 0;
    for (std::uint64_t seed = 0; seed < 50; ++seed) {
        for (const PlannedAttack& planned : plan_set(drill, seed, 0, 60, 1, 0))
            CHECK((planned.catch_trial || planned.counts));
        for (const PlannedAttack& planned : plan_set(drill, seed, 1, 60, 0.8, 0)) {
            if (planned.catch_trial) continue;
            ++all;
            counted += planned.counts ? 1 : 0;
            const double lift = static_cast<double>(planned.phases.front().length.count());
            const double mean = static_cast<double>(drill.opponent.lift.mean.count());
            CHECK(std::abs(lift / mean - (planned.counts ? 1 : 0.8)) < 1e-6);
        }
    }
    CHECK(std::abs(static_cast<double>(counted) / all - secret_share) < 0.03);
    Drill plain = drill;
    plain.following.follows = false;
    for (const PlannedAttack& planned : plan_set(plain, 7, 1, 60, 0.8, 0)) CHECK_FALSE(planned.counts);
}

TEST_CASE("of two sets in a row one asks for the first attack and the other for the second, in either order") {
    Drill drill;
    drill.attacks = {AttackChoice{}, AttackChoice{}};
    drill.attacks.front().moment = Moment::lift;
    CHECK(asked_in_set(drill, 1, 0) == -1);
    drill.asks.first_or_after = true;
    int first_set_first = 0;
    for (std::uint64_t seed = 0; seed < 200; ++seed) {
        const std::int32_t one = asked_in_set(drill, seed, 0), other = asked_in_set(drill, seed, 1);
        CHECK(one + other == 1);
        first_set_first += one == 0 ? 1 : 0;
        for (const PlannedAttack& planned : plan_set(drill, seed, 0, 5, 1, 0)) CHECK(planned.attack == one);
    }
    CHECK(first_set_first > 60);
    CHECK(first_set_first < 140);
}
