#include <doctest/doctest.h>

#include "support/fast_run.hpp"

using namespace breakstep;

namespace {

std::string journal_of(std::uint64_t seed, const Drill& drill, const char* athlete) {
    FastRun run(seed, true);
    REQUIRE(run.run(drill, seed, athlete) == SessionEnd::finished);
    return bytes_of(run.records());
}

}  // namespace

TEST_CASE("the same seed gives the same journal to the byte, and another seed another") {
    const Drill drill = small_drill();
    const std::string first = journal_of(3, drill, "Heron");
    CHECK(first == journal_of(3, drill, "Heron"));
    CHECK(first != journal_of(4, drill, "Heron"));
}

TEST_CASE("scoring the journal again gives every rep and total to the bit") {
    for (const StartKind start : {StartKind::random, StartKind::drawn, StartKind::hunted}) {
        Drill drill = small_drill();
        drill.start = start;
        drill.reps = 12;
        AttackChoice feint;
        feint.kind = AttackKind::feint;
        drill.attacks.push_back(feint);
        FastRun run(9);
        REQUIRE(run.run(drill, 9, "Lapwing") == SessionEnd::finished);
        Score again;
        std::vector<ScoreResult> results;
        for (const JournalRecord& record : run.records()) {
            // Through its bytes, as the store keeps it.
            std::string bytes;
            encode(record.event, bytes);
            const auto event = decode(kind_of(record.event), bytes);
            REQUIRE(event.has_value());
            again.fold({record.position, record.recorded, *event}, results);
        }
        CHECK(again.reps().size() >= 12);
        CHECK(again.reps() == run.score().reps());
        CHECK(again.totals().wealth == run.score().totals().wealth);
        CHECK(again.totals().caught == run.score().totals().caught);
    }
}

TEST_CASE("what the journal kept of each rep is what score says at the end") {
    FastRun run(21);
    REQUIRE(run.run(small_drill(), 21, "Dunlin") == SessionEnd::finished);
    const auto& kept = run.journal.sessions().at(run.id);
    REQUIRE(kept.reps.size() == run.score().reps().size());
    for (const RepResult& rep : run.score().reps()) CHECK(kept.reps.at(static_cast<std::int32_t>(rep.rep)) == rep);
    CHECK(kept.totals.has_value());
}

TEST_CASE("a tapped drill attacks when the coach taps, and stops when the coach stops it") {
    Drill drill = small_drill();
    drill.start = StartKind::tapped;
    drill.reps = 3;
    FastRun run(5);
    run.target.set_athlete(run.driver.now(), {*find_athlete("Heron"), drill.attacks, 5});
    SessionBegan session;
    session.session = SessionId{99};
    session.seed = 5;
    session.drill = drill;
    run.id = session.session;
    DriverCore& core = run.driver.core();
    core.start(session, {}, run.driver.now());
    for (int tap = 0; tap < 2; ++tap) {
        run.driver.pass(12s);
        core.call(InputCall{Coach{{CoachAct::tap_attack, -1}}, run.driver.now()}, run.driver.now());
    }
    run.driver.pass(6s);
    CHECK(run.score().reps().size() == 2);
    for (const RepResult& rep : run.score().reps()) CHECK(rep.start == StartKind::tapped);
    core.call(InputCall{Coach{{CoachAct::stop, 0}}, run.driver.now()}, run.driver.now());
    CHECK(core.session_end() == SessionEnd::stopped);
}
