// What drawing the attack or a pattern is worth: equal counts of alike attacks, an interval that holds, "no
// difference".
#include "core/progress/gain.hpp"

#include <doctest/doctest.h>

#include <cmath>

#include "core/random.hpp"
#include "unit/progress/near.hpp"

using namespace breakstep;
using namespace breakstep::progress;

namespace {

SessionFact session(std::int32_t day, StartKind start, bool test = false) {
    SessionFact fact;
    fact.day = day;
    fact.start = start;
    fact.test = test;
    fact.level = Level::intermediate;
    return fact;
}

RepFact rep(StartKind start, Moment moment = Moment::drop) {
    RepFact fact;
    fact.kind = AttackKind::single;
    fact.moment = moment;
    fact.start = start;
    fact.scored = true;
    return fact;
}

void add(GainTally& tally, const SessionFact& from, const RepFact& what, int hits, int of) {
    for (int i = 0; i < of; ++i) tally.add(from, what, i < hits);
}

/// A term of an athlete whose form scatters from evening to evening: ten reps of each an evening.
Gain simulated(double random_rate, double gain, int evenings, Random& random) {
    GainTally tally;
    for (int evening = 0; evening < evenings; ++evening) {
        const double form = 0.3 * random.normal();
        const auto play = [&](StartKind start, double rate) {
            const double p = 1 / (1 + std::exp(-(std::log(rate / (1 - rate)) + form)));
            for (int i = 0; i < 10; ++i) tally.add(session(evening, start), rep(start), random.chance(p));
        };
        play(StartKind::random, random_rate);
        play(StartKind::drawn, random_rate + gain);
    }
    return tally.of(StartKind::drawn);
}

}  // namespace

TEST_CASE("a gain compares as many of the one as of the other, the newest, attack by attack") {
    GainTally tally;
    // Of the drop 30 drawn and 20 at random: 20 of each count, of the drawn ones the newest.
    add(tally, session(1, StartKind::drawn), rep(StartKind::drawn), 0, 10);
    add(tally, session(2, StartKind::drawn), rep(StartKind::drawn), 16, 20);
    add(tally, session(2, StartKind::random), rep(StartKind::random), 8, 20);
    // Of the gap nothing was drawn: it has no say.
    add(tally, session(2, StartKind::random), rep(StartKind::random, Moment::gap), 20, 20);
    const Gain gain = tally.of(StartKind::drawn);
    CHECK(gain.of == 20);
    CHECK(gain.on_time == 16);
    CHECK(gain.on_time_random == 8);
    CHECK(gain.difference == doctest::Approx(0.4));
    CHECK(gain.said() == Gains::more);
    CHECK(tally.of(StartKind::pattern).said() == Gains::too_few);
    CHECK(tally.of(StartKind::pattern).of == 0);
}

TEST_CASE("tests, feints, a level that follows and what came by itself in a drawn drill have no part in a gain") {
    GainTally tally;
    add(tally, session(1, StartKind::random, true), rep(StartKind::random), 20, 20);
    RepFact narrow = rep(StartKind::random), feint = rep(StartKind::random);
    narrow.window = 0.6;
    feint.kind = AttackKind::feint;
    add(tally, session(1, StartKind::random), narrow, 20, 20);
    add(tally, session(1, StartKind::random), feint, 20, 20);
    add(tally, session(1, StartKind::drawn), rep(StartKind::random), 20, 20);
    add(tally, session(1, StartKind::drawn), rep(StartKind::drawn), 20, 20);
    CHECK(tally.of(StartKind::drawn).of == 0);
}

TEST_CASE("Newcombe's published interval, where all reps of a side are of evenings of their own") {
    // Newcombe 1998, table II (a): 56 of 70 against 48 of 80, method 10: 0.0524 to 0.3339. Here counts must be equal:
    // 48 of 80 against 56 of 80 and the same formula by hand (R 4.2): 0.1, -0.0472 to 0.2414.
    GainTally tally;
    for (int i = 0; i < 80; ++i) {
        tally.add(session(i, StartKind::drawn), rep(StartKind::drawn), i < 56);
        tally.add(session(i, StartKind::random), rep(StartKind::random), i < 48);
    }
    const Gain gain = tally.of(StartKind::drawn);
    CHECK(gain.difference == doctest::Approx(0.1));
    CHECK(gain.low == doctest::Approx(-0.0472).epsilon(0.01));
    CHECK(gain.high == doctest::Approx(0.2414).epsilon(0.01));
    CHECK(gain.said() == Gains::no_difference);
}

TEST_CASE("who gains nothing is told so, and who gains is found: form that scatters from evening to evening") {
    constexpr int terms = 2000;
    Random random(77);
    int false_more = 0, false_less = 0, covered = 0, found = 0;
    for (int i = 0; i < terms; ++i) {
        const Gain none = simulated(0.5, 0, 10, random), some = simulated(0.5, 0.2, 10, random);
        false_more += none.said() == Gains::more ? 1 : 0;
        false_less += none.said() == Gains::less ? 1 : 0;
        found += some.said() == Gains::more ? 1 : 0;
        covered += some.low <= 0.2 && 0.2 <= some.high ? 1 : 0;
    }
    MESSAGE("of ", terms, " terms: falsely more ", false_more, ", falsely less ", false_less, "; a gain of .20 found ",
            found, ", held ", covered);
    // 95 %, two sides; three standard errors of 2,000 are 1.5 points.
    CHECK(false_more + false_less <= terms * 0.065);
    CHECK(covered >= terms * 0.935);
    CHECK(found >= terms * 0.6);
}
