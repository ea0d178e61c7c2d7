// What goes into the tests of who leads whom, and what must hold of them whatever goes in.
#include <doctest/doctest.h>

#include <cmath>
#include <vector>

#include "core/leading/coin_drill.hpp"
#include "core/leading/move_follow.hpp"
#include "core/leading/who_leads.hpp"
#include "core/random.hpp"
#include "core/reading/seconds.hpp"

using namespace breakstep;
using namespace breakstep::leading;
using reading::duration_from;

TEST_CASE("acts within a quarter of a second are one, and the first counts") {
    FollowTest merged, plain;
    for (FollowTest* test : {&merged, &plain}) test->entered(0s);
    plain.acted(500ms);
    merged.acted(500ms);
    merged.acted(749ms);
    for (FollowTest* test : {&merged, &plain}) test->entered(950ms);
    CHECK(merged.log_e() == plain.log_e());
    CHECK(merged.acts() == 1);
    CHECK(merged.merged() == 1);
    merged.acted(1000ms);
    CHECK(merged.acts() == 2);
}

TEST_CASE("an act that could not have worked yet, at or just before the entry, bets nothing") {
    FollowTest with, without;
    for (FollowTest* test : {&with, &without}) test->entered(0s);
    with.acted(800ms);
    for (FollowTest* test : {&with, &without}) test->entered(1s);
    CHECK(with.log_e() == without.log_e());
    CHECK(std::abs(with.log_e()) <= 1e-12);
    CHECK(with.count().of == 0);
    FollowTest at_entry;
    at_entry.entered(0s);
    at_entry.acted(0s);
    at_entry.entered(1s);
    CHECK(std::abs(at_entry.log_e()) <= 1e-12);
}

TEST_CASE("a void interval bets nothing, teaches nothing, and the next entry starts afresh") {
    FollowTest test;
    test.entered(0s);
    test.acted(400ms);
    test.entered(850ms);
    const double log_e = test.log_e(), density = test.own().density(.9);
    test.acted(1100ms);
    test.interrupted();
    test.entered(9s);
    CHECK(test.log_e() == log_e);
    CHECK(test.own().density(.9) == density);
    CHECK(test.intervals() == 1);
    test.entered(9850ms);
    CHECK(test.intervals() == 2);
}

TEST_CASE("a second entry at the same moment is the same one") {
    FollowTest test;
    test.entered(1s);
    test.entered(1s);
    CHECK(test.intervals() == 0);
}

TEST_CASE("a direction is read from its own entries: following one way is told that way only") {
    Random random(31);
    WhoLeads bout;
    double now = 0;
    for (int i = 0; i < 40; ++i) {
        now += .9 + random.exponential(.9);
        bout.entered(Who::b, duration_from(now));
        bout.entered(Who::a, duration_from(now + .45 * (1 + .1 * random.normal())));
    }
    CHECK(bout.lead() == Lead::b_leads);
    CHECK(bout.a_follows_b().sign() == Sign::tell);
    CHECK(bout.b_follows_a().sign() == Sign::none);
    CHECK(*bout.a_follows_b().lag() == doctest::Approx(.45).epsilon(.1));
    CHECK(bout.acts() == 40);
}

TEST_CASE("toe-offs of one lead the other's entries") {
    Random random(32);
    WhoLeads bout;
    double now = 0;
    for (int i = 0; i < 40; ++i) {
        now += .9 + random.exponential(.9);
        bout.lifted(Who::b, duration_from(now));
        bout.entered(Who::a, duration_from(now + .45 * (1 + .1 * random.normal())));
    }
    CHECK(bout.a_follows_b().sign() == Sign::tell);
    CHECK(bout.b_follows_a().intervals() == 0);
}

TEST_CASE("few acts are said to be few, and an empty bout is") {
    WhoLeads bout;
    CHECK(bout.lead() == Lead::too_few);
    for (int i = 1; i <= 14; ++i) bout.entered(Who::a, Duration(i * 1s));
    CHECK(bout.lead() == Lead::too_few);
    bout.entered(Who::a, 15s);
    CHECK(bout.lead() == Lead::no_sign);
}

TEST_CASE("whatever the order and the lengths, wealths are finite, signs only grow, and hits are at most the acts") {
    for (std::uint64_t seed = 0; seed < 60; ++seed) {
        Random random(seed, 77);
        WhoLeads bout;
        double now = 0;
        Sign before = Sign::none;
        for (int i = 0; i < 120; ++i) {
            // From a nanosecond to hours, with ties.
            const double step = random.chance(.1) ? 0 : std::exp(random.uniform(-20, 9));
            now += step;
            const Who who = random.chance(.5) ? Who::a : Who::b;
            switch (random.below(8)) {
                case 0:
                    bout.interrupted();
                    break;
                case 1:
                    bout.lifted(who, duration_from(now));
                    break;
                default:
                    bout.entered(who, duration_from(now));
            }
            for (const FollowTest* test : {&bout.a_follows_b(), &bout.b_follows_a()}) {
                REQUIRE(std::isfinite(test->log_e()));
                REQUIRE(std::isfinite(test->log_x()));
                REQUIRE(test->count().hits <= test->count().of);
                REQUIRE(test->count().chance >= -1e-9);
            }
            REQUIRE(bout.a_follows_b().sign() >= before);
            before = bout.a_follows_b().sign();
        }
    }
}

TEST_CASE("the own forecast is a law: its survival falls from 1, and its density is the slope of it") {
    OwnForecast own(0.4);
    Random random(5);
    for (int i = 0; i < 12; ++i) {
        for (const double at : {.45, .7, .9, 1.3, 2.5}) {
            const double step = 1e-5;
            const double slope = (own.survival(at * std::exp(-step)) - own.survival(at * std::exp(step))) / (2 * step);
            CHECK(own.density(at) == doctest::Approx(slope).epsilon(1e-5));
        }
        CHECK(own.survival(1e-6) == doctest::Approx(1.0).epsilon(1e-6));
        CHECK(own.survival(1e6) < 1e-3);
        own.learn(.5 + random.exponential(.6));
    }
}

TEST_CASE("a bet has mean 1 under the own forecast, whatever the other did: no pattern of acts is worth more") {
    OwnForecast own(0.4);
    for (const double interval : {.8, 1.1, .9, 1.4, .7, 1.0}) own.learn(interval);
    for (const std::vector<double>& acts :
         {std::vector<double>{.3}, std::vector<double>{.1, .6}, std::vector<double>{.2, .5, 1.1, 1.9}}) {
        std::array<double, lag_account_count> mean{};
        // From where no act has worked yet gains are 1; above, the integral over ln D by the midpoint rule.
        const double low = std::log(acts[0] + reaction_seconds), high = std::log(1e7);
        constexpr int cells = 400'000;
        const double width = (high - low) / cells;
        for (int c = 0; c < cells; ++c) {
            const double interval = std::exp(low + (c + .5) * width);
            const Gains gains = gains_of(acts, interval, own);
            for (std::size_t a = 0; a < lag_account_count; ++a) mean[a] += gains[a] * own.density(interval) * width;
        }
        for (std::size_t a = 0; a < lag_account_count; ++a)
            CHECK(mean[a] + 1 - own.survival(std::exp(low)) == doctest::Approx(1.0).epsilon(2e-3));
    }
}

TEST_CASE("the coin drill tells who goes by the cue, and an entry that the coin can't change earns nothing") {
    CoinDrill led, free;
    Random random(8);
    for (int trial = 0; trial < 60; ++trial) {
        const bool coin = random.chance(.5);
        led.add(coin, coin);
        free.add(coin, true);
    }
    CHECK(led.makes_go());
    CHECK(led.told_at() <= 20);
    CHECK_FALSE(free.makes_go());
}

TEST_CASE("the coin drill's wealth has mean 1 over all coins, however the athlete enters") {
    for (unsigned entries = 0; entries < 256; ++entries) {
        double mean = 0;
        for (unsigned coins = 0; coins < 256; ++coins) {
            CoinDrill drill;
            for (unsigned trial = 0; trial < 8; ++trial)
                drill.add(((coins >> trial) & 1U) != 0, ((entries >> trial) & 1U) != 0);
            mean += drill.wealth() / 256;
        }
        REQUIRE(mean == doctest::Approx(1.0).epsilon(1e-9));
    }
}

TEST_CASE("moves: one who copies is told, one who keeps an own pattern that the other copies is not") {
    Random random(9);
    MoveFollow copier, patterned;
    std::uint8_t own = 0;
    for (int move = 0; move < 80; ++move) {
        const auto other = static_cast<std::uint8_t>(random.below(2));
        copier.other_moved(other);
        copier.moved(random.chance(.9) ? other : static_cast<std::uint8_t>(1 - other));
        patterned.other_moved(own);  // a copy of the last own move
        own = static_cast<std::uint8_t>(1 - own);
        patterned.moved(own);
    }
    CHECK(copier.ever_reached(40));
    CHECK_FALSE(patterned.ever_reached(8));
    MoveFollow three(3);
    for (int move = 0; move < 200; ++move) {
        three.other_moved(static_cast<std::uint8_t>(random.below(3)));
        three.moved(static_cast<std::uint8_t>(random.below(3)));
        REQUIRE(std::isfinite(three.log_e()));
    }
    CHECK_FALSE(three.ever_reached(20));
}
