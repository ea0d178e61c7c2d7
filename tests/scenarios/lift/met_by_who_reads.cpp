// The lift of an opponent that leans first, through the whole chain: athletes who read the lean meet it, those who go
// by the foot do not, and lies are counted. The simulated athletes see the simulated screen.
#include <doctest/doctest.h>

#include <string>

#include "settings/drill_file.hpp"
#include "support/fast_run.hpp"

using namespace breakstep;

namespace {

struct Tally {
    int kicks = 0, on_time = 0, unannounced = 0, unannounced_on_time = 0;
    int nothings = 0, nothings_taken = 0, feints = 0, feints_taken = 0;
    [[nodiscard]] double rate() const { return static_cast<double>(on_time) / kicks; }
};

void count(const RepResult& rep, Tally& tally) {
    if (rep.verdict == Verdict::void_rep) return;
    const bool good = rep.verdict == Verdict::on_time, taken = rep.verdict == Verdict::took_the_feint;
    if (rep.catch_trial && rep.telegraphed) {
        ++tally.nothings;
        tally.nothings_taken += taken ? 1 : 0;
    } else if (rep.catch_trial) {
        return;
    } else if (rep.asked.kind == AttackKind::feint) {
        tally.feints += rep.telegraphed ? 1 : 0;
        tally.feints_taken += rep.telegraphed && taken ? 1 : 0;
    } else if (rep.telegraphed) {
        ++tally.kicks;
        tally.on_time += good ? 1 : 0;
    } else {
        ++tally.unannounced;
        tally.unannounced_on_time += good ? 1 : 0;
    }
}

/// Sessions of the shipped drill by an athlete of its level who reads that share of the leans: as it is, or with every
/// lean exactly 400 ms ahead.
Tally played(double reads, int sessions, bool exactly, Counter counter = Counter::front_hand) {
    auto drill = load_drill("meeting-the-lift", {});
    REQUIRE(drill.has_value());
    CHECK(drill->telegraph.delay.mean == 400ms);
    CHECK(drill->level == Level::intermediate);
    CHECK(drill->attacks.front().counter == Counter::front_hand);
    drill->attacks.front().counter = counter;
    if (exactly) drill->telegraph.delay = {400ms, 400ms, 400ms};
    AthleteProfile athlete = typical_athlete(Level::intermediate);
    athlete.reads_leans = reads;
    Tally tally;
    for (int i = 0; i < sessions; ++i) {
        const auto seed = static_cast<std::uint64_t>(300 + i);
        FastRun run(seed);
        run.target.set_athlete(run.driver.now(), {athlete, drill->attacks, seed});
        REQUIRE(run.run(*drill, seed) == SessionEnd::finished);
        for (const RepResult& rep : run.score().reps()) count(rep, tally);
    }
    return tally;
}

void tell(const char* who, const Tally& t) {
    const std::string words = std::string(who) + ": " + std::to_string(t.on_time) + " of " + std::to_string(t.kicks) +
                              " kicks it leaned before on time, " + std::to_string(t.unannounced_on_time) + " of " +
                              std::to_string(t.unannounced) +
                              " without a lean; lies taken: " + std::to_string(t.feints_taken) + " of " +
                              std::to_string(t.feints) + " feints, " + std::to_string(t.nothings_taken) + " of " +
                              std::to_string(t.nothings) + " nothings";
    MESSAGE(words);
}

void check_both(int sessions) {
    const Tally reader = played(1, sessions, true), waiter = played(0, sessions, true);
    tell("at 400 ms, reads each lean", reader);
    tell("at 400 ms, reads none", waiter);
    tell("at 400 ms, reads each lean, with the front leg", played(1, sessions, true, Counter::front_leg));
    tell("as the drill is, 300 to 500 ms, reads each lean", played(1, sessions, false));
    tell("as the drill is, the club's usual (six leans in ten)", played(0.6, sessions, false));
    CHECK(reader.rate() >= 0.6);
    CHECK(waiter.rate() <= 0.2);
    CHECK(reader.nothings > 0);
    CHECK(reader.nothings_taken > waiter.nothings_taken);
    CHECK(static_cast<double>(reader.unannounced_on_time) <= 0.2 * reader.unannounced + 1);
}

}  // namespace

TEST_CASE("who reads the lean meets the lift six times in ten or more, who does not two in ten at most") {
    check_both(12);
}

TEST_CASE("the same over two hundred drills" * doctest::skip(true)) { check_both(200); }

TEST_CASE("each of the drill's leans stands in its plan, and none shortens the time to see it") {
    const auto drill = load_drill("meeting-the-lift", {});
    REQUIRE(drill.has_value());
    FastRun run(5);
    REQUIRE(run.run(*drill, 5, "Egret") == SessionEnd::finished);
    int leans = 0;
    for (const JournalRecord& record : run.records()) {
        const auto* opened = std::get_if<RepOpened>(&record.event);
        if (opened == nullptr || !opened->telegraphed) continue;
        ++leans;
        bool planned = false;
        for (const JournalRecord& other : run.records())
            if (const auto* plan = std::get_if<SetPlanned>(&other.event))
                for (const PlannedRep& rep : plan->reps)
                    planned = planned || (rep.rep == opened->rep && rep.telegraphed && rep.lean == opened->lean);
        CHECK(planned);
        if (!opened->catch_trial) {
            CHECK(opened->onset - opened->lean >= 300ms);
            CHECK(opened->onset - opened->lean <= 500ms);
        }
    }
    CHECK(leans >= 8);
}

TEST_CASE("a session that opens a film has one mark, at the moment of its ready lamp") {
    FastRun run(9);
    SessionBegan session;
    session.session = SessionId{10};
    session.seed = 9;
    session.drill = small_drill();
    session.opens_video = true;
    run.target.set_athlete(run.driver.now(), {*find_athlete("Heron"), session.drill.attacks, 9});
    REQUIRE(run.driver.run(session, {}, 3600s) == SessionEnd::finished);
    int marks = 0;
    std::optional<TargetTime> mark, ready;
    for (const JournalRecord& record : run.journal.sessions().at(session.session).records) {
        if (const auto* known = std::get_if<VideoMark>(&record.event)) {
            ++marks;
            mark = known->at;
        }
        if (const auto* lamps = std::get_if<LampsSet>(&record.event))
            if (!ready && lamps->lit == lamp_bit(LampRole::ready)) ready = lamps->at;
    }
    CHECK(marks == 1);
    REQUIRE(mark.has_value());
    REQUIRE(ready.has_value());
    CHECK(*ready - *mark < 2ms);
    CHECK(*mark - *ready < 2ms);
}
