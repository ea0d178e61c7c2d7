// A session that stands aside for others' sets goes on as if nothing had been.
#include <algorithm>
#include <set>

#include <doctest/doctest.h>

#include "unit/conduct/conduct_bench.hpp"

using namespace breakstep;
using testing::ConductBench;

namespace {

SessionBegan session_of(StartKind start = StartKind::random, std::int32_t sets = 3) {
    SessionBegan session;
    session.session = SessionId{1};
    session.seed = 5;
    session.rules = rules_of_today;
    session.evening = EveningId{9};
    session.drill.name = "any";
    session.drill.start = start;
    session.drill.sets = sets;
    session.drill.reps = 4;
    session.drill.rest = 1s;
    session.drill.wait_minimum = 500ms;
    session.drill.wait_extra = 600ms;
    session.drill.wait_cap = 2s;
    AttackChoice single;
    session.drill.attacks = {single};
    session.drill.pattern = {{0, 700ms}};
    return session;
}

// Onsets of each set's first plan, from its begin.
std::vector<std::vector<Duration>> plans(const ConductBench& bench) {
    std::vector<std::vector<Duration>> found;
    for (const SetPlanned& plan : bench.all<SetPlanned>()) {
        auto& onsets = found.emplace_back();
        for (const PlannedRep& rep : plan.reps) onsets.push_back(rep.onset - plan.begin);
    }
    return found;
}

std::set<std::int32_t> numbers_of(const ConductBench& bench, std::int32_t set) {
    std::set<std::int32_t> numbers;
    for (const RepResult& rep : bench.score().reps())
        if (rep.set == set && !rep.catch_trial && rep.verdict != Verdict::void_rep)
            CHECK(numbers.insert(rep.number).second);
    return numbers;
}

}  // namespace

TEST_CASE("sets apart by others' turns are planned as those of a session alone") {
    SessionBegan alone = session_of();
    alone.evening = EveningId{};
    ConductBench one(alone);
    one.connect();
    for (int set = 0; set < 3; ++set) {
        one.play_set();
        one.pass(1100ms);
    }
    ConductBench apart(session_of());
    apart.connect();
    for (int set = 0; set < 3; ++set) {
        apart.play_set();
        if (apart.conduct().done()) break;
        apart.suspend();
        apart.pass(1s);
        REQUIRE(apart.is_aside());
        apart.pass(200s);
        apart.resume();
    }
    CHECK(apart.conduct().how_it_ended() == SessionEnd::finished);
    CHECK(plans(one) == plans(apart));
    CHECK(apart.count<SessionSuspended>() == 2);
    CHECK(apart.count<SessionResumed>() == 2);
    for (std::int32_t set = 0; set < 3; ++set) CHECK(numbers_of(apart, set).size() == 4);
}

TEST_CASE("a session of an evening never begins its next set by itself") {
    ConductBench bench(session_of());
    bench.connect();
    bench.play_set();
    bench.pass(300s);
    CHECK(bench.conduct().scene().kind == SceneKind::resting);
}

TEST_CASE("it stands aside 320 ms after the last close and not before") {
    ConductBench bench(session_of());
    bench.connect();
    bench.play_set();
    const RepClosed last = bench.all<RepClosed>().back();
    bench.suspend();
    CHECK_FALSE(bench.is_aside());
    // A blow of the 300 ms after the close is the last rep's.
    bench.pass(200ms);
    bench.strike();
    bench.pass(500ms);
    REQUIRE(bench.is_aside());
    const JournalRecord& suspended = bench.journal.back();
    CHECK(std::holds_alternative<SessionSuspended>(suspended.event));
    CHECK(suspended.recorded.time_since_epoch() - last.end.since_boot() >= 320ms);
    CHECK(bench.score().reps().back().later_contacts.size() == 1);
    CHECK(bench.score().totals().stray_contacts == 0);
}

TEST_CASE("while the rig is away a session waits with standing aside, since the rig may hold blows of its last rep") {
    ConductBench bench(session_of());
    bench.connect();
    bench.play_set();
    bench.lose(VoidReason::link_lost);
    bench.suspend();
    bench.pass(100s);
    CHECK_FALSE(bench.is_aside());
    CHECK_FALSE(bench.conduct().done());
    bench.connect();
    bench.pass(1s);
    CHECK(bench.is_aside());
}

TEST_CASE("a set that is cut keeps its closed reps and has the rest drawn again") {
    ConductBench bench(session_of(StartKind::random, 2));
    bench.connect();
    bench.pass(bench.before_strike);
    bench.strike();
    while (bench.count<RepClosed>() < 2) bench.pass(20ms);
    const auto closed = numbers_of(bench, 0);
    bench.suspend();
    bench.pass(5s);
    REQUIRE(bench.is_aside());
    SUBCASE("in this process") {}
    SUBCASE("in another process") { bench.restart(); }
    bench.pass(60s);
    bench.resume(true);
    bench.play_set();
    CHECK(numbers_of(bench, 0) == std::set<std::int32_t>{1, 2, 3, 4});
    for (const std::int32_t number : closed) CHECK(numbers_of(bench, 0).contains(number));
    const SetPlanned again = bench.all<SetPlanned>().back();
    CHECK(again.reason == RedrawReason::cut_set);
    CHECK(again.set == 0);
    CHECK(again.reps.size() >= 4 - closed.size());
    bench.suspend();
    bench.pass(1s);
    bench.resume();
    bench.play_set();
    CHECK(bench.conduct().how_it_ended() == SessionEnd::finished);
    CHECK(numbers_of(bench, 1).size() == 4);
}

TEST_CASE("another process goes on with the same plans, pace and coins") {
    for (const StartKind start : {StartKind::random, StartKind::drawn}) {
        ConductBench here(session_of(start)), there(session_of(start));
        for (ConductBench* bench : {&here, &there}) {
            bench->connect();
            bench->play_set();
            bench->suspend();
            bench->pass(1s);
            REQUIRE(bench->is_aside());
            if (bench == &there) bench->restart();
            bench->resume(bench == &there);
            bench->play_set();
        }
        CHECK(plans(here) == plans(there));
        CHECK(here.score().reps().size() == there.score().reps().size());
    }
}

TEST_CASE("a journal with sets apart scores again to the bit") {
    ConductBench bench(session_of());
    bench.connect();
    for (int set = 0; set < 3; ++set) {
        bench.play_set([](ConductBench& each) {
            if (each.now().time_since_epoch().count() % 700'000'000 == 0) each.strike();
        });
        bench.suspend();
        bench.pass(30s);
        if (!bench.conduct().done()) bench.resume();
    }
    Score again;
    std::vector<ScoreResult> ignored;
    for (const JournalRecord& entry : bench.journal) {
        std::string bytes;
        encode(entry.event, bytes);
        const auto event = decode(kind_of(entry.event), bytes);
        REQUIRE(event);
        again.fold({entry.position, entry.recorded, *event}, ignored);
    }
    CHECK(again.reps() == bench.score().reps());
    CHECK(again.totals() == bench.score().totals());
}

TEST_CASE("the strike that brought the task does not start it") {
    ConductBench bench(session_of());
    bench.connect();
    bench.pass(1s);
    bench.strike();
    CHECK(bench.conduct().scene().kind == SceneKind::awaiting_start);
    bench.pass(600ms);
    bench.strike();
    CHECK(bench.conduct().scene().kind == SceneKind::counting);
}
