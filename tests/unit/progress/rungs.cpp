// Where an athlete stands on the ladder: which reps count, when a rung is passed, when the one below is offered.
#include "core/progress/rungs.hpp"

#include <cmath>
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include "core/ladder/rung.hpp"
#include "core/random.hpp"

using namespace breakstep;
using namespace breakstep::progress;

namespace {

RungStandard the_drop() {
    RungStandard rung;
    rung.number = 4;
    rung.name = "the drop";
    rung.drills = {"drop-of-a-single-kick", "test-drop"};
    rung.kinds = {AttackKind::single};
    rung.moment = Moment::drop;
    rung.start = StartKind::random;
    return rung;
}

RungStandard feints() {
    RungStandard rung;
    rung.number = 5;
    rung.drills = {"feints"};
    rung.level = Level::intermediate;
    rung.feints = true;
    return rung;
}

SessionFact session(std::int32_t day, const std::string& drill, bool test = false) {
    SessionFact fact;
    fact.day = day;
    fact.drill = drill;
    fact.test = test;
    fact.level = test ? Level::intermediate : Level::beginner;
    return fact;
}

RepFact rep(bool on_time, std::int32_t set = 0) {
    RepFact fact;
    fact.set = set;
    fact.kind = AttackKind::single;
    fact.moment = Moment::drop;
    fact.verdict = on_time ? Verdict::on_time : Verdict::clash;
    fact.scored = true;
    return fact;
}

void add(RungFold& fold, const std::string& reps, std::int32_t set = 0) {
    for (const char one : reps) fold.add(rep(one == '1', set));
}

}  // namespace

TEST_CASE("in training the first set counts, from the second session of the drill on, of a test every rep") {
    RungFold fold(1, {the_drop()});
    const auto counted = [&] { return fold.standings(0)[0].reps; };
    fold.begin(session(1, "drop-of-a-single-kick"));
    add(fold, "1111");
    CHECK(counted() == 0);  // a first turn is for learning the drill
    fold.begin(session(2, "drop-of-a-single-kick"));
    add(fold, "1111");
    add(fold, "1111", 1);  // adapted to what the first set showed
    CHECK(counted() == 4);
    fold.begin(session(3, "test-drop", true));
    add(fold, "11");
    add(fold, "11", 1);
    CHECK(counted() == 8);
}

TEST_CASE("only what the rung asks for counts: its drills, its level or harder, its kind, moment and start") {
    RungStandard middle = the_drop();
    middle.level = Level::intermediate;
    RungFold fold(1, {middle});
    const auto counts = [&](SessionFact fact, RepFact one) {
        const auto before = fold.standings(0)[0].reps;
        fold.begin(fact);
        fold.begin(fact);
        fold.add(one);
        return fold.standings(0)[0].reps > before;
    };
    SessionFact fact = session(1, "test-drop", true);
    CHECK(counts(fact, rep(true)));
    CHECK(counts(fact, rep(false)));
    fact.level = Level::advanced;
    CHECK(counts(fact, rep(true)));
    fact.level = Level::beginner;
    CHECK_FALSE(counts(fact, rep(true)));
    CHECK_FALSE(counts(session(1, "untidy-beginner", true), rep(true)));
    fact.level = Level::intermediate;
    RepFact other = rep(true);
    other.kind = AttackKind::carry;
    CHECK_FALSE(counts(fact, other));
    other = rep(true);
    other.moment = Moment::gap;
    CHECK_FALSE(counts(fact, other));
    other = rep(true);
    other.start = StartKind::pattern;
    CHECK_FALSE(counts(fact, other));
    other = rep(true);
    other.catch_trial = true;
    CHECK_FALSE(counts(fact, other));
    other = rep(true);
    other.verdict = Verdict::void_rep;
    other.scored = false;
    CHECK_FALSE(counts(fact, other));
    other = rep(true);
    other.kind = AttackKind::feint;
    CHECK_FALSE(counts(fact, other));  // a rung without an account for them
}

TEST_CASE("the accounts are the ladder's own, evening by evening, and a pass has its day") {
    // The published trace: passed at the 24th rep, in the third evening.
    const std::vector<std::string> evenings{"1011110110", "1110111011", "11111111"};
    RungFold fold(2, {the_drop()});
    auto rung = *ladder::Rung::at(0.5);
    for (std::size_t i = 0; i < evenings.size(); ++i) {
        SessionFact fact = session(static_cast<std::int32_t>(10 + 7 * i), "test-drop", true);
        fact.athlete = 1;
        fold.begin(fact);
        add(fold, evenings[i].substr(0, 4));
        fold.begin(fact);  // a second session of the same evening goes on
        add(fold, evenings[i].substr(4));
        if (i > 0) rung.end_evening();
        for (const char one : evenings[i]) rung.add(one == '1');
    }
    const RungStanding standing = fold.standings(1)[0];
    CHECK(rung.up().wealth() == doctest::Approx(95.645324));
    CHECK(standing.wealth == rung.up().wealth());
    CHECK(standing.step_down_wealth == rung.down().wealth());
    CHECK(standing.on_time == 23);
    CHECK(standing.reps == 28);
    CHECK(standing.evenings == 3);
    CHECK(standing.passed);
    CHECK(standing.passed_day == 24);
    CHECK_FALSE(standing.step_down);
    CHECK(fold.standings(0)[0] == RungFold(1, {the_drop()}).standings(0)[0]);  // of the other athlete nothing
}

TEST_CASE("a rung with feints is passed when both have been at 20: whoever goes at everything is not") {
    const auto after = [](bool holds) {
        RungFold fold(1, {feints()});
        for (std::int32_t evening = 0; evening < 6; ++evening) {
            SessionFact fact = session(evening, "feints");
            fact.level = Level::intermediate;
            fold.begin(fact);
            for (int i = 0; i < 20; ++i) {
                fold.add(rep(true));
                RepFact feint = rep(true);
                feint.kind = AttackKind::feint;
                feint.verdict = holds ? Verdict::held : Verdict::took_the_feint;
                feint.scored = false;
                fold.add(feint);
            }
        }
        return fold.standings(0)[0];
    };
    CHECK(after(true).passed);
    CHECK(after(true).held == 100);  // the first session does not count
    CHECK_FALSE(after(false).passed);
    CHECK(after(false).wealth > 20);
}

TEST_CASE(
    "what a rung's drills take for done has its own word, and an account above its mark that is no more than luck says "
    "so") {
    const auto after = [](const std::string& reps, std::optional<bool> scored_with_hit) {
        RungFold fold(1, {the_drop()});
        fold.begin(session(1, "test-drop", true));
        for (const char one : reps) {
            RepFact fact = rep(one == '1');
            if (scored_with_hit) {
                fact.scored = *scored_with_hit;
                fact.rung_hit = one == '1';
            }
            fold.add(fact);
        }
        return fold.standings(0)[0];
    };
    CHECK(word(after("10", std::nullopt).done) == "on time");
    CHECK(word(after("10", false).done) == "in and out");
    CHECK(word(after("10", true).done) == "done as asked");
    CHECK(word(after("", false).done) == "on time");

    CHECK_FALSE(after("", std::nullopt).attacks_unsure());
    CHECK(after("10", std::nullopt).attacks_unsure());         // at the mark of a half
    CHECK_FALSE(after("100", std::nullopt).attacks_unsure());  // below it: the numbers say enough
    const RungStanding sure = after(std::string(40, '1'), std::nullopt);
    CHECK(sure.attacks_sure);
    CHECK_FALSE(sure.attacks_unsure());
}

TEST_CASE("of a rung with feints each account says by itself whether it is sure") {
    RungFold fold(1, {feints()});
    for (const std::int32_t evening : {1, 2}) {
        SessionFact fact = session(evening, "feints");
        fact.level = Level::intermediate;
        fold.begin(fact);
        for (int i = 0; i < 20; ++i) fold.add(rep(true));
        for (int i = 0; i < 5; ++i) {
            RepFact feint = rep(true);
            feint.kind = AttackKind::feint;
            feint.verdict = i < 3 ? Verdict::held : Verdict::took_the_feint;  // 3 of 5: at the mark of 6 in 10
            feint.scored = false;
            fold.add(feint);
        }
    }
    const RungStanding rung = fold.standings(0)[0];
    CHECK_FALSE(rung.passed);
    CHECK(rung.attacks_sure);
    CHECK_FALSE(rung.attacks_unsure());
    CHECK(rung.held_unsure());
}

TEST_CASE("the rung below is offered from the second evening on, and not below a rung that was passed") {
    RungFold fold(1, {the_drop(), feints()});
    fold.begin(session(1, "test-drop", true));
    add(fold, std::string(40, '0'));
    CHECK_FALSE(fold.standings(0)[0].step_down);
    fold.begin(session(2, "test-drop", true));
    add(fold, "0");
    CHECK(fold.standings(0)[0].step_down);
    for (std::int32_t day = 3; day < 8; ++day) {
        SessionFact fact = session(day, "feints");
        fact.level = Level::intermediate;
        fold.begin(fact);
        for (int i = 0; i < 20; ++i) {
            fold.add(rep(true));
            RepFact feint = rep(true);
            feint.kind = AttackKind::feint;
            feint.verdict = Verdict::held;
            feint.scored = false;
            fold.add(feint);
        }
    }
    CHECK(fold.standings(0)[1].passed);
    CHECK_FALSE(fold.standings(0)[0].step_down);
}

TEST_CASE("what the coach took out is counted apart, and over one in ten of it a pass promises nothing") {
    RungFold fold(1, {the_drop()});
    fold.begin(session(1, "test-drop", true));
    add(fold, std::string(18, '1'));
    RepFact out = rep(false);
    out.verdict = Verdict::void_rep;
    out.scored = false;
    fold.add(out);  // the rig's own
    CHECK(fold.standings(0)[0].voided_by_coach == 0);
    out.voided_by_coach = true;
    fold.add(out);
    fold.add(out);
    CHECK(fold.standings(0)[0].voided_by_coach == 2);
    CHECK(fold.standings(0)[0].reps == 18);
    CHECK(fold.standings(0)[0].promise_holds());
    fold.add(out);
    CHECK_FALSE(fold.standings(0)[0].promise_holds());
}

TEST_CASE("through sessions that adapt after the first set, an athlete at the mark passes in at most 1 of 20") {
    // Two sets of 20, the mark's own rate in the first, an easier second set: only the first may count. Evenings
    // scatter by 0.3 on the logit scale.
    constexpr int athletes = 1500, evenings = 20;
    Random random(20261126, 1);
    int passed = 0;
    for (int athlete = 0; athlete < athletes; ++athlete) {
        RungFold fold(1, {the_drop()});
        for (std::int32_t evening = 0; evening <= evenings; ++evening) {
            fold.begin(session(evening, "drop-of-a-single-kick"));
            const double rate = 1 / (1 + std::exp(-0.3 * random.normal()));
            for (int i = 0; i < 20; ++i) fold.add(rep(random.unit() < rate));
            for (int i = 0; i < 20; ++i) fold.add(rep(random.unit() < 0.8, 1));
        }
        passed += fold.standings(0)[0].passed ? 1 : 0;
    }
    MESSAGE("passed by luck: ", passed, " of ", athletes);
    CHECK(passed <= 0.05 * athletes + 3 * std::sqrt(0.05 * 0.95 * athletes));
}

TEST_CASE("a junior's rung is at a junior's level, of the days on which they were one") {
    RungStandard rung = feints();
    rung.drills = {"feints", "feints-for-juniors"};
    rung.junior_level = Level::beginner;
    const auto counted = [&](bool junior, Level level) {
        RungFold fold(1, {rung});
        for (std::int32_t day = 1; day <= 2; ++day) {
            SessionFact fact = session(day, "feints-for-juniors");
            fact.level = level;
            fact.junior = junior;
            fold.begin(fact);
            add(fold, "1111");
        }
        return fold.standings(0).front().reps;
    };
    CHECK(counted(true, Level::beginner) == 4);
    CHECK(counted(false, Level::beginner) == 0);
    CHECK(counted(false, Level::intermediate) == 4);
}

TEST_CASE("who meets the standard on the last three evenings is seen to, whatever came before") {
    RungFold fold(1, {the_drop()});
    std::int32_t day = 0;
    const auto evening = [&](const std::string& reps) {
        fold.begin(session(++day, "test-drop", true));
        add(fold, reps);
    };
    const auto now = [&] { return fold.standings(0)[0]; };
    for (int i = 0; i < 12; ++i) evening("0000100000");
    CHECK_FALSE(now().meets_lately);
    evening("1111101111");
    evening("1111101111");
    CHECK_FALSE(now().meets_lately);  // 19 of 30, two good evenings of three
    evening("1101111011");
    CHECK(now().lately_on_time == 26);
    CHECK(now().lately_reps == 30);
    CHECK(now().meets_lately);
    CHECK_FALSE(now().passed);
    // Two evenings of few reps and one of many bad ones.
    evening("1");
    evening("1");
    evening("0101010101010101010101");
    CHECK_FALSE(now().meets_lately);
}

TEST_CASE("who is at the mark for ever seems above it at one look in twenty at most") {
    constexpr int athletes = 400;
    Random random(4);
    int seen = 0;
    for (int athlete = 0; athlete < athletes; ++athlete) {
        RungFold fold(1, {the_drop()});
        for (std::int32_t day = 1; day <= 3; ++day) {
            fold.begin(session(day, "test-drop", true));
            for (int i = 0; i < 20; ++i) fold.add(rep(random.chance(0.5)));
        }
        seen += fold.standings(0)[0].meets_lately ? 1 : 0;
    }
    CHECK(seen <= athletes / 20 + 3 * std::sqrt(athletes * 0.05 * 0.95));
}

TEST_CASE("on a rung with feints so few as three first sets hold are enough to be seen, if they are held") {
    const auto after = [](int held_of_ten) {
        RungFold fold(1, {feints()});
        for (std::int32_t day = 0; day <= 3; ++day) {
            SessionFact fact = session(day, "feints");
            fact.level = Level::intermediate;
            fold.begin(fact);
            for (int i = 0; i < 6; ++i) fold.add(rep(true));
            for (int i = 0; i < (day == 3 ? 4 : 3); ++i) {
                RepFact feint = rep(true);
                feint.kind = AttackKind::feint;
                feint.scored = false;
                feint.verdict = held_of_ten-- > 0 ? Verdict::held : Verdict::took_the_feint;
                if (day == 0) ++held_of_ten;  // the first turn counts for nothing
                fold.add(feint);
            }
        }
        return fold.standings(0)[0];
    };
    CHECK(after(10).lately_feints == 10);
    CHECK(after(10).lately_reps == 18);
    CHECK(after(10).meets_lately);
    CHECK_FALSE(after(6).meets_lately);
}
