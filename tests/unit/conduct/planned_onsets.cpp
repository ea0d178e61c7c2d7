// What a set was planned to be, it is: nothing the athlete or the coach does moves an onset.
#include <algorithm>
#include <map>

#include <doctest/doctest.h>

#include "core/random.hpp"
#include "unit/conduct/conduct_bench.hpp"

using namespace breakstep;
using testing::ConductBench;

namespace {

SessionBegan session_of(StartKind start, std::uint64_t seed, bool test = false) {
    SessionBegan session;
    session.session = SessionId{1};
    session.seed = seed;
    session.rules = rules_of_today;
    session.drill.name = "any";
    session.drill.start = start;
    session.drill.test = test;
    session.drill.sets = 2;
    session.drill.reps = 4;
    session.drill.rest = 1s;
    session.drill.wait_minimum = 500ms;
    session.drill.wait_extra = 800ms;
    session.drill.wait_cap = 2s;
    AttackChoice single, feint;
    feint.kind = AttackKind::feint;
    session.drill.attacks = {single, feint};
    session.drill.pattern = {{0, 700ms}, {1, 900ms}};
    return session;
}

// Plays the whole session; the athlete strikes and the coach does things at random.
ConductBench played(const SessionBegan& session, std::uint64_t acts, bool with_coach) {
    ConductBench bench(session);
    bench.connect();
    Random random(acts, 1);
    for (std::int32_t set = 0; set < session.drill.sets && !bench.conduct().done(); ++set) {
        bench.play_set([&](ConductBench& each) {
            if (random.chance(0.002)) each.strike();
            if (!with_coach) return;
            if (random.chance(0.001)) each.coach(CoachAct::tap_attack, random.chance(0.5) ? 0 : -1);
            if (random.chance(0.0005)) each.coach(CoachAct::pause);
            if (each.conduct().scene().paused && random.chance(0.01)) each.coach(CoachAct::go_on);
        });
        bench.pass(1100ms);
    }
    return bench;
}

}  // namespace

TEST_CASE("each rep is cued as planned or not at all, whatever athlete and coach do") {
    for (const StartKind start : {StartKind::random, StartKind::pattern})
        for (std::uint64_t seed = 1; seed <= 12; ++seed) {
            const ConductBench bench = played(session_of(start, seed), 100 + seed, true);
            std::map<std::int32_t, PlannedRep> planned;
            std::size_t opened = 0;
            for (const JournalRecord& entry : bench.journal) {
                if (const auto* plan = std::get_if<SetPlanned>(&entry.event)) {
                    CHECK(plan->redrawn == (plan->reason != RedrawReason::none));
                    for (const PlannedRep& rep : plan->reps) planned[static_cast<std::int32_t>(rep.rep)] = rep;
                } else if (const auto* rep = std::get_if<RepOpened>(&entry.event)) {
                    ++opened;
                    const auto found = planned.find(static_cast<std::int32_t>(rep->rep));
                    REQUIRE(found != planned.end());
                    CHECK(rep->onset == found->second.onset);
                    CHECK(rep->catch_trial == found->second.catch_trial);
                }
            }
            CHECK(opened >= 8);
        }
}

TEST_CASE("contacts move no onset: two athletes get the same session") {
    for (std::uint64_t seed = 1; seed <= 6; ++seed) {
        const SessionBegan session = session_of(StartKind::random, seed, true);
        const ConductBench one = played(session, 1, false), other = played(session, 2, false);
        const auto a = one.all<SetPlanned>(), b = other.all<SetPlanned>();
        REQUIRE(a.size() == b.size());
        for (std::size_t i = 0; i < a.size(); ++i) {
            REQUIRE(a[i].reps.size() == b[i].reps.size());
            CHECK_FALSE(a[i].redrawn);
            for (std::size_t k = 0; k < a[i].reps.size(); ++k)
                CHECK(a[i].reps[k].onset - a[i].begin == b[i].reps[k].onset - b[i].begin);
        }
    }
}

TEST_CASE("a tap opens nothing but in a tapped drill that runs") {
    for (const StartKind start :
         {StartKind::random, StartKind::pattern, StartKind::drawn, StartKind::hunted, StartKind::tapped})
        for (const bool test : {false, true}) {
            ConductBench bench(session_of(start, 3, test));
            bench.connect();
            CHECK_FALSE(bench.coach(CoachAct::tap_attack));  // before the set
            bench.strike();
            bench.pass(500ms + 3 * 700ms + 300ms);  // the count and a little more
            REQUIRE(bench.conduct().scene().kind == SceneKind::running);
            const std::size_t before = bench.count<RepOpened>();
            CHECK(bench.coach(CoachAct::pause));
            CHECK_FALSE(bench.coach(CoachAct::tap_attack));
            CHECK(bench.coach(CoachAct::go_on));
            CHECK_FALSE(bench.coach(CoachAct::tap_attack, 7));  // no such attack
            const bool taken = bench.coach(CoachAct::tap_attack);
            CAPTURE(word(start));
            CHECK(taken == (start == StartKind::tapped));
            CHECK(bench.count<RepOpened>() == before + (taken ? 1 : 0));
            if (taken) CHECK_FALSE(bench.coach(CoachAct::tap_attack));  // one at a time
        }
}

TEST_CASE("a pause opens nothing, and going on says why the rest was drawn again") {
    ConductBench bench(session_of(StartKind::random, 4));
    bench.connect();
    bench.strike();
    bench.pass(4s);
    bench.coach(CoachAct::pause);
    bench.pass(6s);
    const std::size_t opened = bench.count<RepOpened>();
    bench.pass(20s);
    CHECK(bench.count<RepOpened>() == opened);
    bench.coach(CoachAct::go_on);
    CHECK(bench.all<SetPlanned>().back().reason == RedrawReason::going_on);
}

TEST_CASE("walking off behind cancels the count") {
    ConductBench bench(session_of(StartKind::random, 5));
    bench.connect();
    bench.strike();
    REQUIRE(bench.conduct().scene().kind == SceneKind::counting);
    bench.break_gate(GateRole::back_mark);
    CHECK(bench.conduct().scene().kind == SceneKind::awaiting_start);
    bench.pass(5s);
    CHECK(bench.count<SetPlanned>() == 0);
    bench.strike();
    bench.pass(5s);
    CHECK(bench.count<SetPlanned>() == 1);
}
