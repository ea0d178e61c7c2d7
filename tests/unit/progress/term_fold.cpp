// From sessions and reps to what a term says, against counts made by hand, and over simulated terms made of reps.
#include "core/progress/term_fold.hpp"

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include "core/random.hpp"
#include "unit/progress/near.hpp"

using namespace breakstep;
using namespace breakstep::progress;
using breakstep::test::near;

namespace {

SessionFact session(std::size_t athlete, std::int32_t day, bool test) {
    SessionFact fact;
    fact.athlete = athlete;
    fact.day = day;
    fact.test = test;
    fact.level = test ? Level::advanced : Level::beginner;
    return fact;
}

RepFact rep(Verdict verdict, Moment moment = Moment::drop) {
    RepFact fact;
    fact.moment = moment;
    fact.verdict = verdict;
    fact.scored = verdict != Verdict::void_rep && verdict != Verdict::held && verdict != Verdict::took_the_feint;
    fact.contacted = verdict == Verdict::on_time || verdict == Verdict::around || verdict == Verdict::clash;
    if (fact.contacted) {
        fact.latency_ms = 100;
        fact.error_ms = 20;
    }
    return fact;
}

RepFact feint(bool taken) {
    RepFact fact = rep(taken ? Verdict::took_the_feint : Verdict::held);
    fact.kind = AttackKind::feint;
    fact.contacted = taken;
    return fact;
}

/// In and out: room was asked for, no strike.
RepFact room(Verdict verdict) {
    RepFact fact = rep(verdict, Moment::gap);
    fact.scored = false;
    return fact;
}

/// `hits` of `of` on time, the others clashes.
void add_reps(TermFold& fold, int hits, int of, Moment moment = Moment::drop) {
    for (int i = 0; i < of; ++i) fold.add(rep(i < hits ? Verdict::on_time : Verdict::clash, moment));
}

const CellTerm* cell_of(const AthleteTerm& term, const Cell& wanted) {
    for (const CellTerm& cell : term.cells)
        if (cell.cell == wanted) return &cell;
    return nullptr;
}

constexpr Cell drop_test{Moment::drop, Counter::front_hand, Stance::closed, true};
constexpr Cell drop_training{Moment::drop, Counter::front_hand, Stance::closed, false};

/// Tests on these days with so many of ten on time.
AthleteTerm tested(const std::vector<int>& hits, const ClaimedMeasure& claimed = {}) {
    TermFold fold(1, claimed, true);
    for (std::size_t i = 0; i < hits.size(); ++i) {
        fold.begin(session(0, static_cast<std::int32_t>(7 * i), true));
        add_reps(fold, hits[i], 10);
    }
    return fold.finish().at(0);
}

}  // namespace

TEST_CASE("tests and training, moments, counters and stances are counted apart and never pooled") {
    TermFold fold(3, {}, true);
    fold.begin(session(1, 100, true));
    add_reps(fold, 6, 8);
    add_reps(fold, 1, 4, Moment::gap);
    SessionFact training = session(1, 100, false);
    fold.begin(training);
    add_reps(fold, 2, 3);
    training.stance = Stance::open;
    fold.begin(training);
    add_reps(fold, 0, 5);
    const auto terms = fold.finish();
    REQUIRE(terms.size() == 1);
    const AthleteTerm& term = terms[0];
    CHECK(term.athlete == 1);
    CHECK(term.cells.size() == 4);
    CHECK(term.cells[0].cell == drop_test);  // tests first, the most reps first
    CHECK(term.cells[1].cell == Cell{Moment::gap, Counter::front_hand, Stance::closed, true});
    CHECK(cell_of(term, drop_test)->all.on_time == Share{6, 8});
    CHECK(cell_of(term, drop_test)->all.clashes == 2);
    CHECK(cell_of(term, drop_training)->all.on_time == Share{2, 3});
    CHECK(term.scored == 20);
    CHECK(term.sessions == 3);
    CHECK(term.evenings == 1);
    CHECK(term.level == Level::beginner);  // a test says nothing of the level of training
    CHECK_FALSE(cell_of(term, drop_test)->baseline);
    CHECK_FALSE(cell_of(term, drop_test)->all.latency_ms);  // 8 contacts, 20 are needed
}

TEST_CASE("voids, feints and catch trials are no scored reps, and a void is nothing at all") {
    TermFold fold(1, {}, true);
    fold.begin(session(0, 0, true));
    fold.add(rep(Verdict::void_rep));
    RepFact nothing = rep(Verdict::held);
    nothing.catch_trial = true;
    fold.add(nothing);
    for (int i = 0; i < 10; ++i) fold.add(feint(i < 2));
    for (int i = 0; i < 20; ++i) fold.add(rep(i < 18 ? Verdict::on_time : Verdict::missed));
    const auto term = fold.finish().at(0);
    CHECK(term.reps == 32);
    CHECK(term.voids == 1);
    CHECK(term.scored == 20);
    // Computed from Hautus's formula: 18 of 20 against 2 of 10.
    CHECK(term.picked->d_prime == near(1.927620, 1e-6));
    std::uint32_t counted = 0;
    for (const auto& [situation, counts] : term.situations)
        for (const std::uint32_t count : counts) counted += count;
    CHECK(counted == 30);
}

TEST_CASE("where room alone is asked for no strike is missed: such reps are in no situation, and in no plan") {
    TermFold fold(1, {}, true);
    fold.begin(session(0, 1, false));
    for (int i = 0; i < 30; ++i) fold.add(room(i % 2 == 0 ? Verdict::held : Verdict::gave_ground));
    const AthleteTerm term = fold.finish().at(0);
    CHECK(term.situations.empty());
    CHECK(term.reps == 30);
}

TEST_CASE("baseline and now are the first and last three evenings of a cell") {
    const AthleteTerm term = tested({2, 3, 4, 5, 6, 7, 9});
    const CellTerm& cell = *cell_of(term, drop_test);
    CHECK(cell.baseline->on_time == Share{9, 30});
    CHECK(cell.now->on_time == Share{22, 30});
    CHECK(cell.all.on_time == Share{36, 70});
    REQUIRE(cell.all.latency_ms);
    CHECK(cell.all.contacts == 70);
    CHECK(cell.all.steadiness_ms == near(0, 1e-12));
    CHECK(cell.evenings.size() == 7);
}

TEST_CASE("the claim is of the cell that the first test evening practised most, whatever came later") {
    TermFold fold(1, {}, true);
    fold.begin(session(0, 0, false));
    add_reps(fold, 50, 50, Moment::lift);  // training never decides
    for (int evening = 0; evening < 7; ++evening) {
        fold.begin(session(0, 7 * evening, true));
        add_reps(fold, evening + 2, 10, Moment::gap);
        add_reps(fold, 9, evening == 0 ? 9 : 40);
    }
    const auto term = fold.finish().at(0);
    REQUIRE(term.claimed.cell);
    CHECK(term.claimed.cell->moment == Moment::gap);
    CHECK(term.claimed.claim.claim == Claim::improved);
    CHECK(term.claimed.values.front().value == near(.2, 1e-12));
    CHECK(term.claimed.better == Better::higher);
}

TEST_CASE("a claimed moment that is set is taken, and one that is missing is not replaced by another") {
    ClaimedMeasure claimed;
    claimed.moment = Moment::lift;
    CHECK_FALSE(tested({2, 3, 4, 5, 6, 7}, claimed).claimed.cell);
    claimed.moment = Moment::drop;
    CHECK(tested({2, 3, 4, 5, 6, 7}, claimed).claimed.cell == drop_test);
}

TEST_CASE("improved, worse, no clear change and too few come out of reps") {
    CHECK(tested({2, 3, 4, 5, 6, 7}).claimed.claim.claim == Claim::improved);
    CHECK(tested({8, 7, 6, 5, 3, 2}).claimed.claim.claim == Claim::worse);
    CHECK(tested({5, 4, 6, 5, 4, 6}).claimed.claim.claim == Claim::no_clear_change);
    CHECK(tested({2, 3, 4, 5, 6}).claimed.claim.claim == Claim::too_few);
}

TEST_CASE("evenings of under five scored reps have no value, and under thirty reps nothing is claimed") {
    TermFold fold(1, {}, true);
    for (int evening = 0; evening < 8; ++evening) {
        fold.begin(session(0, 7 * evening, true));
        add_reps(fold, evening % 2, evening < 2 ? 4 : 5);
    }
    const auto short_term = fold.finish().at(0);
    CHECK(short_term.claimed.values.size() == 6);
    CHECK(short_term.claimed.reps == 30);
    CHECK(short_term.claimed.claim.claim != Claim::too_few);

    TermFold fewer(1, {}, true);
    for (int evening = 0; evening < 8; ++evening) {
        fewer.begin(session(0, 7 * evening, true));
        add_reps(fewer, evening / 2, evening < 3 ? 4 : 5);
    }
    const auto too_short = fewer.finish().at(0);
    CHECK(too_short.claimed.reps == 25);
    CHECK(too_short.claimed.claim.claim == Claim::too_few);
    CHECK(too_short.claimed.claim.line);
}

TEST_CASE("an imported measure is claimed only if someone said which way is better") {
    const auto imported = [](const ClaimedMeasure& claimed, bool two) {
        TermFold fold(1, claimed, true);
        const double values[] = {250, 245, 243, 236, 233, 230, 224};
        for (int i = 0; i < 7; ++i) {
            fold.add(MeasureFact{0, "reaction_ms", 7 * i, values[i]});
            if (two) fold.add(MeasureFact{0, "jump_cm", 7 * i, 40.0 + i % 2});
        }
        return fold.finish().at(0);
    };
    CHECK(imported({}, false).claimed.measure.empty());
    CHECK(imported({}, false).others.size() == 1);

    ClaimedMeasure lower;
    lower.better["reaction_ms"] = Better::lower;
    CHECK(imported(lower, false).claimed.claim.claim == Claim::improved);
    CHECK(imported(lower, true).claimed.measure == "reaction_ms");
    lower.better["jump_cm"] = Better::higher;
    CHECK(imported(lower, true).claimed.measure.empty());  // which of the two, nobody fixed beforehand
    lower.measure = "jump_cm";
    CHECK(imported(lower, true).claimed.measure == "jump_cm");
    ClaimedMeasure higher;
    higher.better["reaction_ms"] = Better::higher;
    CHECK(imported(higher, false).claimed.claim.claim == Claim::worse);
}

TEST_CASE("answers after giving ground are told from answers at once") {
    TermFold fold(1, {}, true);
    fold.begin(session(0, 0, false));
    RepFact retreat = rep(Verdict::missed);
    retreat.retreated = true;
    fold.add(retreat);
    fold.add(feint(false));           // asks for no answer, and takes none of the ground back
    fold.add(rep(Verdict::on_time));  // after giving ground
    fold.add(rep(Verdict::clash));    // at once
    fold.add(retreat);
    RepFact next_set = rep(Verdict::on_time);
    next_set.set = 1;
    fold.add(next_set);  // at once: a rest lies between
    RepFact around = rep(Verdict::around);
    around.set = 1;
    around.kind = AttackKind::carry;
    around.counter = Counter::spin;
    around.start = StartKind::drawn;
    fold.add(around);
    const auto term = fold.finish().at(0);
    const auto answer = [&](Answer which) { return term.answers[static_cast<std::size_t>(which)]; };
    CHECK(answer(Answer::after_giving_ground) == Share{1, 1});
    CHECK(answer(Answer::at_once) == Share{2, 3});
    CHECK(answer(Answer::the_drop) == Share{2, 5});
    CHECK(answer(Answer::going_around) == Share{1, 1});
    CHECK(answer(Answer::leading) == Share{1, 1});
    CHECK(answer(Answer::meeting_the_lift) == Share{0, 0});
}

TEST_CASE("where no strike is asked for, not to strike is no holding back") {
    TermFold fold(1, {}, true);
    fold.begin(session(0, 0, false));
    for (int i = 0; i < 40; ++i) {
        RepFact room = rep(Verdict::missed);
        room.scored = false;
        room.rung_hit = true;
        fold.add(room);
    }
    fold.begin(session(0, 1, false));
    RepFact answered = rep(Verdict::on_time);
    answered.contacted = true;
    for (int i = 0; i < 20; ++i) fold.add(answered);
    for (int i = 0; i < 10; ++i) fold.add(feint(false));
    const auto term = fold.finish().at(0);
    CHECK(term.answer_count_total.attacks == 20);
    CHECK(term.answer_count_total.attacks_answered == 20);
    CHECK(term.answer_count_total.feints == 10);
}

TEST_CASE("where drop or gap is right, the rep counts for neither alone, and its evening knows its drill") {
    TermFold fold(1, {}, true);
    SessionFact rebounds = session(0, 0, false);
    rebounds.drill = "rebounds";
    fold.begin(rebounds);
    RepFact either = rep(Verdict::on_time);
    either.moments = moment_bit(Moment::drop) | moment_bit(Moment::gap);
    fold.add(either);
    fold.add(rep(Verdict::late));
    fold.begin(rebounds);
    const auto term = fold.finish().at(0);
    CHECK(term.answers[static_cast<std::size_t>(Answer::drop_or_gap)] == Share{1, 1});
    CHECK(term.answers[static_cast<std::size_t>(Answer::the_drop)] == Share{0, 1});
    CHECK(term.recent_drills.at("rebounds") == 1);  // two turns of one evening
}

TEST_CASE("warm-up, halves of sets and days off are visible") {
    TermFold fold(1, {}, true);
    fold.begin(session(0, 0, false));
    for (int i = 0; i < 7; ++i) fold.add(rep(i < 3 ? Verdict::on_time : Verdict::clash));
    fold.begin(session(0, 0, true));  // the same evening goes on
    add_reps(fold, 2, 2);
    fold.begin(session(0, 14, false));
    add_reps(fold, 0, 5);
    fold.begin(session(0, 27, false));
    add_reps(fold, 0, 1);
    const auto term = fold.finish().at(0);
    CHECK(term.first_reps == Share{3, 11});
    CHECK(term.later_reps == Share{2, 4});
    CHECK(term.first_halves == Share{3, 3});  // seven reps: the fourth is in neither half; five are too short a set
    CHECK(term.second_halves == Share{0, 3});
    REQUIRE(term.days_off.size() == 1);  // 13 days are none
    CHECK(term.days_off[0].last_day == 0);
    CHECK(term.days_off[0].next_day == 14);
    CHECK(term.days_off[0].before == Share{5, 9});
    CHECK(term.days_off[0].after == Share{0, 5});
}

TEST_CASE("windows are pooled by adding, and a rhythm told over many drills is named") {
    TermFold fold(2, {}, true);
    for (int evening = 0; evening < 6; ++evening)
        for (const std::size_t athlete : {0, 1}) {
            SessionFact fact = session(athlete, evening, false);
            fact.hits = reading::HitCount{athlete == 0 ? 9U : 2U, 12U, 2.5};
            fact.wealth = athlete == 0 ? 6 : .4;
            fold.begin(fact);
        }
    fold.begin(session(1, 6, false));  // cut off: no totals
    const auto terms = fold.finish();
    CHECK(terms[0].hits.scored == 72);
    CHECK(terms[0].hits.hits == 54);
    CHECK(terms[0].hits_baseline.hits == 27);
    CHECK(terms[0].hits_now.chance == near(7.5, 1e-12));
    CHECK(terms[0].rhythm_told);
    CHECK_FALSE(terms[1].rhythm_told);
}

TEST_CASE("recent means the 28 days that end with the group's last evening") {
    TermFold fold(2, {}, true);
    fold.begin(session(0, 0, false));
    add_reps(fold, 1, 2);
    fold.begin(session(0, 3, false));
    add_reps(fold, 1, 3);
    fold.begin(session(1, 30, false));
    add_reps(fold, 1, 1);
    const auto terms = fold.finish();
    const auto count = [](const std::map<Situation, VerdictCounts>& situations) {
        std::uint32_t all = 0;
        for (const auto& [situation, counts] : situations)
            for (const std::uint32_t one : counts) all += one;
        return all;
    };
    CHECK(count(terms[0].situations) == 5);
    CHECK(count(terms[0].recent_situations) == 3);
    CHECK(count(terms[1].recent_situations) == 1);
}

TEST_CASE("terms made of reps: at most 5 % of those who did not improve are called improved") {
    // 20 athletes, 10 weeks, one week in ten missed, 15 to 60 test reps an evening; an evening's chance to be on time
    // scatters by .1, the true gain of every second athlete is three such scatters.
    const std::uint64_t seed = 2026;
    for (const double autocorrelation : {0.0, 0.3}) {
        Random random(seed);
        int unchanged = 0, wrong = 0, improving = 0, found = 0;
        for (int term = 0; term < 150; ++term) {
            TermFold fold(20, {}, true);
            for (std::size_t athlete = 0; athlete < 20; ++athlete) {
                const double level = random.uniform(.25, .45);
                double scatter = .1 * random.normal();
                for (int week = 0; week < 10; ++week) {
                    const double gain = athlete % 2 == 0 ? .3 * week / 9 : 0;
                    const double chance = std::clamp(level + gain + scatter, .02, .98);
                    scatter = autocorrelation * scatter +
                              std::sqrt(1 - autocorrelation * autocorrelation) * .1 * random.normal();
                    const auto reps = 15 + random.below(46);
                    if (random.chance(.1)) continue;
                    fold.begin(session(athlete, 7 * week, true));
                    for (std::uint64_t i = 0; i < reps; ++i)
                        fold.add(rep(random.chance(chance) ? Verdict::on_time : Verdict::missed));
                }
            }
            for (const AthleteTerm& one : fold.finish()) {
                const bool improved = one.claimed.claim.claim == Claim::improved;
                (one.athlete % 2 == 0 ? improving : unchanged) += 1;
                (one.athlete % 2 == 0 ? found : wrong) += improved ? 1 : 0;
            }
        }
        const double false_rate = static_cast<double>(wrong) / unchanged;
        MESSAGE("seed " << seed << ", autocorrelation " << autocorrelation << ": false improved " << false_rate
                        << " of " << unchanged << ", power " << static_cast<double>(found) / improving
                        << " (expected about " << (autocorrelation > 0 ? .043 : .025) << " and .57)");
        CHECK(unchanged > 1400);
        CHECK(false_rate <= .05);
        CHECK(found > improving / 3);
    }
}
