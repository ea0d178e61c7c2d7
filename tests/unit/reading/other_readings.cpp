// Known athletes, lure drills, picked or guessed, and signs over a term.
#include <doctest/doctest.h>

#include <cmath>
#include <vector>

#include "core/reading/families.hpp"
#include "core/reading/known_athlete.hpp"
#include "core/reading/law.hpp"
#include "core/reading/lure.hpp"
#include "core/reading/over_a_term.hpp"
#include "core/reading/picked_or_guessed.hpp"
#include "core/reading/seconds.hpp"
#include "core/reading/words.hpp"

using namespace breakstep;
using namespace breakstep::reading;

namespace {

constexpr std::uint64_t seed = 31'337;

std::vector<std::vector<Duration>> sessions_of(Family family, std::uint64_t drill, std::size_t count) {
    std::vector<std::vector<Duration>> sessions(count);
    for (std::size_t s = 0; s < count; ++s) {
        InventedAthlete athlete(family, seed + 1, drill * 8 + s);
        for (int i = 0; i < 23; ++i) sessions[s].push_back(duration_from(athlete.next()));
    }
    return sessions;
}

double told_by(Family family, int drills, int intervals, bool known, Family learnt_from) {
    int told = 0;
    for (int drill = 0; drill < drills; ++drill) {
        const auto id = static_cast<std::uint64_t>(drill);
        TempoTest test(TempoMethod::plain,
                       known ? learn_athlete(sessions_of(learnt_from, id, 3), 400ms) : KnownAthlete{});
        InventedAthlete athlete(family, seed, id);
        for (int i = 0; i < intervals && test.wealth() < 20; ++i) {
            test.predict(400ms);
            test.entered(duration_from(athlete.next()));
        }
        told += test.wealth() >= 20 ? 1 : 0;
    }
    return told / static_cast<double>(drills);
}

}  // namespace

TEST_CASE("a known athlete is told sooner") {
    for (const Family family : {Family::human_15, Family::long_short, Family::three_beat, Family::one_beat_60}) {
        CAPTURE(static_cast<int>(family));
        const double stranger = told_by(family, 600, 7, false, family);
        const double known = told_by(family, 600, 7, true, family);
        CHECK(known > stranger + 0.10);
    }
}

TEST_CASE("a wrong prior breaks no promise and costs little power") {
    // Learnt from a metronome at 0.9 s, met with athletes who can't be timed, or who have changed their rhythm.
    CHECK(told_by(Family::exponential_short, 3'000, 39, true, Family::metronome_10) <= 0.05);
    CHECK(told_by(Family::lognormal_50, 3'000, 39, true, Family::metronome_10) <= 0.05);
    CHECK(told_by(Family::long_short, 600, 15, true, Family::metronome_10) >= 0.95);
    CHECK(told_by(Family::three_beat, 600, 15, true, Family::long_short) >= 0.90);
}

TEST_CASE("earlier sessions without a rhythm teach no law") {
    const KnownAthlete known = learn_athlete(sessions_of(Family::exponential_long, 5, 3), 400ms);
    CHECK(known.sessions == 3);
    CHECK(known.trust == 0);
    CHECK(known.period == 0);
    const std::vector<std::vector<Duration>> short_ones(3, std::vector<Duration>(5, 900ms));
    CHECK(learn_athlete(short_ones, 400ms) == KnownAthlete{});
}

TEST_CASE("a three-beat is learnt across sessions that began in different phases") {
    std::vector<std::vector<Duration>> sessions(3);
    for (std::size_t s = 0; s < 3; ++s)
        for (std::size_t i = 0; i < 21; ++i)
            sessions[s].push_back((i + s) % 3 == 2 ? Duration(1400ms) : Duration(i % 2 == 0 ? 600ms : 610ms));
    const KnownAthlete known = learn_athlete(sessions, 400ms);
    REQUIRE(known.period == 3);
    const double longest = *std::max_element(known.centres.begin(), known.centres.end());
    CHECK(longest == doctest::Approx(std::log(1.4)).epsilon(1e-6));
    CHECK(known.spread < 0.08);
    CHECK(known.on_beat > 0.95);
}

TEST_CASE("a lure is scored in two halves") {
    const std::vector<Duration> set(8, 900ms);
    const LureScore good = score_lure(set, 600ms, 400ms, true);
    CHECK(good.readable);
    CHECK(good.broken);
    CHECK(good.expected == 900ms);
    CHECK(good.ahead == 300ms);
    CHECK(good.set.hits == 5);
    CHECK(good.words() == "the beat was set: 5 of 5 caught, luck 1; broken 0.30 s ahead, struck in the lift");
    const LureScore late = score_lure(set, 980ms, 400ms, false);
    CHECK_FALSE(late.broken);
    CHECK(late.words() ==
          "the beat was set: 5 of 5 caught, luck 1; not broken: 0.08 s behind the beat, no strike in the lift");
    const std::vector<Duration> wild{500ms, 1700ms, 700ms, 2500ms, 900ms, 600ms};
    CHECK_FALSE(score_lure(wild, 600ms, 400ms, true).readable);
    CHECK(score_lure(std::vector<Duration>{900ms}, 600ms, 400ms, true).words() ==
          "the set was too short to tell a beat");
}

TEST_CASE("picked or guessed gives d' and its interval") {
    // By definition, with the log-linear correction of Hautus 1995; recomputed with another program.
    const AnswerCount count{20, 18, 10, 2};
    const auto result = picked_or_guessed(count);
    REQUIRE(result.has_value());
    CHECK(std::abs(result->d_prime - 1.927620) < 5.1e-7);
    CHECK(std::abs(result->low - .809299) < 5.1e-7);
    CHECK(std::abs(result->high - 3.045941) < 5.1e-7);
    CHECK_FALSE(result->at_least_only);
    CHECK(result->words(count) == "picked: answered 18 of 20 attacks, 2 of 10 feints");
    CHECK(picked_or_guessed({20, 20, 10, 2})->at_least_only);
    CHECK(picked_or_guessed({20, 18, 10, 0})->at_least_only);
    CHECK_FALSE(picked_or_guessed({0, 0, 10, 2}).has_value());
    CHECK_FALSE(picked_or_guessed({10, 2, 0, 0}).has_value());
    CHECK(normal_quantile(.975) == doctest::Approx(1.959963984540054).epsilon(1e-12));
}

TEST_CASE("tells over a term mix the drills from which the habit may have begun") {
    TermTell term;
    CHECK(term.total() == 1);
    term.drill_ended(4);  // Z = 1/2 x 4 = 2, total 2 + 1/2
    CHECK(term.total() == doctest::Approx(2.5).epsilon(1e-14));
    term.drill_ended(3);  // Z = (2 + 1/6) x 3 = 6.5, total 6.5 + 1/3
    CHECK(term.total() == doctest::Approx(6.5 + 1.0 / 3).epsilon(1e-14));
    CHECK(term.told_at() == 0);
    term.drill_ended(4);
    CHECK(term.told_at() == 3);
    TermTell idle;  // wealths of 1 keep the total at 1: the prior sums to 1
    for (int i = 0; i < 100; ++i) idle.drill_ended(1);
    CHECK(idle.total() == doctest::Approx(1.0).epsilon(1e-12));
}

TEST_CASE("e-BH names the athletes whose evidence stands up together") {
    // Wang & Ramdas 2022: the k largest if the k-th is at least m / (0.05 k), here 80 / k.
    CHECK(named_by_e_bh(std::vector<double>{90, 1, 45, 2}) == std::vector<std::size_t>{0, 2});
    CHECK(named_by_e_bh(std::vector<double>{79, 1, 39, 2}).empty());
    CHECK(named_by_e_bh(std::vector<double>{30, 30, 30, 30}) == std::vector<std::size_t>{0, 1, 2, 3});
    CHECK(named_by_e_bh({}).empty());
}

TEST_CASE("the pooled index has the standard error of its formula") {
    const HitCount pooled{17, 28, 7.0};
    const double t = 19.0 / 32;
    CHECK(pooled.standard_error() == doctest::Approx(110 * std::sqrt(t * (1 - t) / 28) / 0.75).epsilon(1e-14));
    HitCount sum{8, 9, 2.458316};
    sum += HitCount{5, 5, .92714};
    CHECK(sum.hits == 13);
    CHECK(sum.scored == 14);
    CHECK(sum.chance == doctest::Approx(3.385456).epsilon(1e-12));
    CHECK(sum.words() == "13 of 14 caught, luck 3");
}

TEST_CASE("Timeable is shown only where it can mean something") {
    CHECK(HitCount{7, 10, 2.0}.shown());
    CHECK(HitCount{7, 10, 2.0}.words() == "7 of 10 caught, luck 2");
    CHECK_FALSE(HitCount{6, 7, 1.0}.shown());     // fewer than 8
    CHECK_FALSE(HitCount{8, 8, 2.5}.shown());     // n - C under 6
    CHECK_FALSE(HitCount{25, 30, 20.0}.shown());  // anyone would be caught
    CHECK(HitCount{25, 30, 20.0}.words() == "at this pace anyone is caught 20 of 30");
    CHECK(HitCount{1, 30, 5.0}.timeable() == 0);
}

TEST_CASE("counts and shares are said as a coach says them") {
    CHECK(times_word(1) == "once");
    CHECK(times_word(2) == "twice");
    CHECK(times_word(6) == "six times");
    CHECK(count_word(13) == "13");
    CHECK(decimals(0.8249, 2) == "0.82");
    CHECK(decimals(1e300, 2) == "very large");
    CHECK(percent(0.604) == "60 %");
}
