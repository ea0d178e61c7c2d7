// What comes next: rules, their borders, the first that holds.
#include "core/progress/next_drill.hpp"

#include "core/progress/group_plan.hpp"

#include <vector>

#include <doctest/doctest.h>

using namespace breakstep;
using namespace breakstep::progress;

namespace {

constexpr Situation held_leg{AttackKind::carry, Moment::drop, Counter::spin, Stance::closed};
constexpr Situation single_drop{AttackKind::single, Moment::drop, Counter::front_hand, Stance::closed};
constexpr Situation single_gap{AttackKind::single, Moment::gap, Counter::front_hand, Stance::open};
constexpr Situation feint{AttackKind::feint, Moment::drop, Counter::front_hand, Stance::closed};

std::uint32_t& of(AthleteTerm& term, const Situation& situation, Verdict verdict, bool recent = true) {
    return (recent ? term.recent_situations : term.situations)[situation][static_cast<std::size_t>(verdict)];
}

/// So many clashes of so many on a held leg, in the last days and in the term.
AthleteTerm clashing(std::uint32_t clashes, std::uint32_t reps) {
    AthleteTerm term;
    for (const bool recent : {true, false}) {
        of(term, held_leg, Verdict::clash, recent) = clashes;
        of(term, held_leg, Verdict::around, recent) = reps - clashes;
    }
    return term;
}

NextRule clash_rule() {
    NextRule rule;
    rule.name = "held leg";
    rule.kind = AttackKind::carry;
    rule.verdicts = {Verdict::clash};
    rule.above = .25;
    rule.drill = "around-the-held-leg";
    rule.say = "clashes {share} on the held leg ({count} of {of})";
    return rule;
}

NextRule otherwise() {
    NextRule rule;
    rule.name = "mix";
    rule.drill = "linked-techniques";
    rule.say = "nothing stands out";
    return rule;
}

}  // namespace

TEST_CASE("the first rule that holds chooses, and says why in figures") {
    const std::vector<NextRule> rules{clash_rule(), otherwise()};
    const auto next = next_drill(clashing(17, 50), rules);
    REQUIRE(next);
    CHECK(next->drill == "around-the-held-leg");
    CHECK(next->because == "clashes 34 % on the held leg (17 of 50)");
    CHECK(next->rule == "held leg");
    CHECK(next->evidence == Share{17, 50});

    const auto other = next_drill(clashing(5, 50), rules);
    CHECK(other->drill == "linked-techniques");
    CHECK_FALSE(other->evidence);
    CHECK_FALSE(next_drill(clashing(5, 50), std::vector{clash_rule()}));
}

TEST_CASE("a handful of reps does not choose, and neither does chance") {
    const std::vector<NextRule> rules{clash_rule()};
    CHECK_FALSE(next_drill(clashing(19, 19), rules));  // twenty are needed
    CHECK(next_drill(clashing(20, 20), rules));
    // 60 % Wilson intervals (R 4.2: (p + z^2/2n -+ z sqrt(p(1-p)/n + z^2/4n^2)) / (1 + z^2/n), z =
    // qnorm(.8)): 7 of 20 has the low end .2668, 6 of 20 .2218.
    CHECK(next_drill(clashing(7, 20), rules));
    CHECK_FALSE(next_drill(clashing(6, 20), rules));
    NextRule seldom = clash_rule();
    seldom.above.reset();
    seldom.below = .25;
    CHECK(next_drill(clashing(2, 20), std::vector{seldom}));
    CHECK_FALSE(next_drill(clashing(4, 20), std::vector{seldom}));
}

TEST_CASE("only the reps that fit are looked at: kind, moment, counter, stance, the last days or the term") {
    AthleteTerm term = clashing(20, 40);
    of(term, single_drop, Verdict::clash) = 30;
    of(term, single_gap, Verdict::on_time) = 30;
    const auto share = [&](NextRule rule) {
        rule.above = 0;
        rule.reps_min = 1;
        rule.verdicts = {Verdict::clash};
        const auto next = next_drill(term, std::vector{rule});
        return next && next->evidence ? *next->evidence : Share{};
    };
    NextRule rule;
    CHECK(share(rule) == Share{50, 100});
    rule.moment = Moment::drop;
    CHECK(share(rule) == Share{50, 70});
    rule.counter = Counter::front_hand;
    CHECK(share(rule) == Share{30, 30});
    rule = {};
    rule.kind = AttackKind::carry;
    rule.stance = Stance::closed;
    CHECK(share(rule) == Share{20, 40});
    rule = {};
    rule.recent = false;
    CHECK(share(rule) == Share{20, 40});
}

TEST_CASE("feints are looked at only where they are asked for") {
    AthleteTerm term;
    of(term, feint, Verdict::took_the_feint) = 12;
    of(term, feint, Verdict::held) = 12;
    NextRule rule = clash_rule();
    rule.kind = AttackKind::feint;
    rule.verdicts = {Verdict::took_the_feint};
    CHECK(next_drill(term, std::vector{rule})->evidence == Share{12, 24});
    rule.kind.reset();
    CHECK_FALSE(next_drill(term, std::vector{rule}));
}

TEST_CASE("what was not practised in the term is found, by moment or by the way of answering") {
    AthleteTerm term;
    of(term, single_gap, Verdict::on_time, false) = 19;
    NextRule rule = otherwise();
    rule.moment = Moment::gap;
    rule.fewer_than = 20;
    rule.say = "{of} reps";
    CHECK(next_drill(term, std::vector{rule})->because == "19 reps");
    of(term, single_gap, Verdict::missed, false) = 1;
    CHECK_FALSE(next_drill(term, std::vector{rule}));

    NextRule leading = otherwise();
    leading.answer = Answer::leading;
    leading.fewer_than = 20;
    CHECK(next_drill(term, std::vector{leading}));
    term.answers[static_cast<std::size_t>(Answer::leading)] = {3, 20};
    CHECK_FALSE(next_drill(term, std::vector{leading}));
}

TEST_CASE("a rhythm that was told counts until the last evenings no longer give it away") {
    NextRule rule = otherwise();
    rule.can_be_timed = true;
    AthleteTerm term;
    term.rhythm_wealth = 19.9;
    CHECK_FALSE(next_drill(term, std::vector{rule}));
    term.rhythm_wealth = 20;
    CHECK(next_drill(term, std::vector{rule}));
    term.hits_now = {30, 40, 8};
    CHECK(next_drill(term, std::vector{rule}));
    term.hits_now = {9, 40, 8};  // Wilson's low end lies under chance
    CHECK_FALSE(next_drill(term, std::vector{rule}));
}

TEST_CASE("who was put on a rung by the coach is sent to none below it, and a juniors' rule holds for juniors") {
    std::vector<NextRule> rules;
    for (const std::int32_t rung : {1, 2, 5}) {
        NextRule rule;
        rule.rung = rung;
        rule.drill = "of-rung-" + std::to_string(rung);
        if (rung == 5) {
            NextRule juniors = rule;
            juniors.juniors = true;
            juniors.drill = "for-juniors";
            rules.push_back(juniors);
        }
        rules.push_back(rule);
    }
    AthleteTerm term;
    CHECK(next_drill(term, rules)->drill == "of-rung-1");
    term.placed = AthleteTerm::Placed{2, 100};
    CHECK(next_drill(term, rules)->drill == "of-rung-2");
    term.placed = AthleteTerm::Placed{5, 100};
    CHECK(next_drill(term, rules)->drill == "of-rung-5");
    term.junior = true;
    CHECK(next_drill(term, rules)->drill == "for-juniors");
    // What is passed above counts more than the coach's word of then.
    RungStanding passed;
    passed.number = 5;
    passed.passed = true;
    term.rungs = {passed};
    CHECK_FALSE(next_drill(term, rules).has_value());
}

TEST_CASE("who lately does what a rung asks is sent to none below it, and goes on practising it until it is passed") {
    std::vector<NextRule> rules;
    for (const std::int32_t rung : {1, 3, 4, 5}) {
        NextRule rule;
        rule.rung = rung;
        rule.drill = "of-rung-" + std::to_string(rung);
        rules.push_back(rule);
    }
    AthleteTerm term;
    for (const std::int32_t rung : {1, 3, 4, 5}) {
        RungStanding standing;
        standing.number = rung;
        term.rungs.push_back(standing);
    }
    CHECK(next_drill(term, rules)->drill == "of-rung-1");
    term.rungs[2].meets_lately = true;
    CHECK(next_drill(term, rules)->drill == "of-rung-4");
    rules[2].say = "rung 4{so far}";
    term.rungs[2].on_time = 145;
    term.rungs[2].reps = 288;
    term.rungs[2].lately_on_time = 65;
    term.rungs[2].lately_reps = 96;
    CHECK(
        next_drill(term, rules)->because.starts_with("rung 4 (on time 145 of 288, lately 65 of 96; the mark is half"));
    term.rungs[2].passed = true;
    CHECK(next_drill(term, rules)->drill == "of-rung-5");
}

TEST_CASE("a rule that has had its evenings lets those below have their turn") {
    NextRule hunted = otherwise();
    hunted.drill = "hunted";
    hunted.evenings_most = 3;
    const std::vector<NextRule> rules{hunted, otherwise()};
    AthleteTerm term;
    term.recent_drills["linked-techniques"] = 9;
    term.recent_drills["hunted"] = 2;
    CHECK(next_drill(term, rules)->drill == "hunted");
    term.recent_drills["hunted"] = 3;
    CHECK(next_drill(term, rules)->drill == "linked-techniques");
}

TEST_CASE("where either of two moments is right the rep speaks for neither") {
    Situation either = single_drop;
    either.moments = moment_bit(Moment::drop) | moment_bit(Moment::gap);
    Situation alone = single_drop;
    alone.moments = moment_bit(Moment::drop);
    NextRule rule = otherwise();
    rule.moment = Moment::drop;
    rule.below = 0.5;
    AthleteTerm term;
    of(term, either, Verdict::late) = 40;
    CHECK_FALSE(next_drill(term, std::vector{rule}));
    CHECK(group_plan(std::vector{term}, {})[0].on_time == Share{0, 0});
    of(term, alone, Verdict::late) = 40;
    CHECK(next_drill(term, std::vector{rule}));
}

TEST_CASE("who is too young for a rule's drill is given another of the rung, or the next rule's") {
    NextRule drop;
    drop.name = "the drop";
    drop.rung = 4;
    drop.drill = "high-pads";
    drop.from_age = 11;
    drop.instead = {{"also-high", 11}, {"any-pad", 0}};
    drop.say = "rung 4";
    NextRule hunted;
    hunted.name = "hunted";
    hunted.drill = "hunted";
    hunted.from_age = 14;
    hunted.say = "so";
    AthleteTerm term;
    const auto next = [&](std::int32_t age, const std::vector<NextRule>& rules) {
        term.age = age;
        const auto chosen = next_drill(term, rules);
        return chosen ? chosen->drill : std::string();
    };
    CHECK(next(9, {drop}) == "any-pad");
    CHECK(next(11, {drop}) == "high-pads");
    CHECK(next(0, {drop}) == "high-pads");  // not known
    CHECK(next(13, {hunted, otherwise()}) == "linked-techniques");
    CHECK(next(14, {hunted, otherwise()}) == "hunted");
}

namespace {

/// On rung 1 of 1 and 2, where room is kept and nothing is struck.
AthleteTerm on_the_first(std::uint64_t done, std::uint64_t reps, std::uint64_t evenings) {
    AthleteTerm term;
    RungStanding first;
    first.number = 1;
    first.mark = .6;
    first.done = Done::room;
    first.on_time = done;
    first.reps = reps;
    first.evenings = evenings;
    RungStanding second;
    second.number = 2;
    term.rungs = {first, second};
    return term;
}

NextDrill next_on_the_first(const AthleteTerm& term) {
    NextRule rule;
    rule.rung = 1;
    rule.drill = "in-and-out";
    rule.say = "rung 1{so far}: room";
    const auto next = next_drill(term, std::vector{rule});
    REQUIRE(next);
    return *next;
}

}  // namespace

TEST_CASE("a rung says what its drill takes for done, and why who stands above the mark has not passed") {
    CHECK(next_on_the_first(on_the_first(195, 310, 3)).because ==
          "rung 1 (in and out 195 of 310; the mark is 6 in 10; not sure yet: luck could look the same): room");
    CHECK(next_on_the_first(on_the_first(180, 310, 3)).because ==
          "rung 1 (in and out 180 of 310; the mark is 6 in 10): room");
    CHECK(next_on_the_first(on_the_first(195, 310, 3)).without_counts == "rung 1: room");
}

TEST_CASE("after many evenings on a rung without an answer the coach may put the athlete on the next") {
    CHECK_FALSE(next_on_the_first(on_the_first(195, 310, 7)).undecided);
    const auto told = next_on_the_first(on_the_first(195, 310, 8)).undecided;
    REQUIRE(told);
    CHECK(*told == NextDrill::Undecided{1, 2, 8});

    AthleteTerm hard = on_the_first(80, 310, 8);
    hard.rungs[0].step_down = true;  // has an offer of its own
    CHECK_FALSE(next_on_the_first(hard).undecided);
    CHECK(next_on_the_first(hard).offer.find("in and out 80 of 310") != std::string::npos);
    AthleteTerm highest = on_the_first(195, 310, 8);
    highest.rungs.pop_back();
    CHECK_FALSE(next_on_the_first(highest).undecided);
}
