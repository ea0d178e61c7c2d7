// A scripted rig strikes at chosen delays after the lamps it sees; real bytes bring it to the host. Each verdict is
// known beforehand, and each latency by the truth of the simulation.
#include <doctest/doctest.h>

#include <cmath>

#include "support/fast_run.hpp"

using namespace breakstep;

namespace {

struct Known {
    const char* what;
    AttackKind kind;
    Moment asked;
    std::int32_t change;  ///< lamp change of the attack: 0 the first lift's
    Duration delay;
    Verdict verdict;
    Phase phase;
    Counter counter = Counter::back_leg;
    PadSet pads = 0;
};

RepResult played(const Known& known, std::uint64_t seed) {
    Drill drill = small_drill(known.asked);
    drill.reps = 1;
    drill.wait_extra = Duration{};  // no catch trial
    drill.attacks[0].kind = known.kind;
    drill.attacks[0].counter = known.counter;
    drill.attacks[0].pads = known.pads;
    drill.opponent.spread = 0;  // every phase has its mean length
    FastRun run(seed);
    Script script;
    script.after_lamps.push_back({0, known.change, known.delay, ScriptStrike{}});
    run.target.set_script(run.driver.now(), script);
    REQUIRE(run.run(drill, seed) == SessionEnd::finished);
    REQUIRE(run.score().reps().size() == 1);
    return run.score().reps().front();
}

// The beginner's mean lengths: lift 180, up 270, pull-back 220, drop 200, gap 350, carry 600, hands 400.
constexpr Known cases[] = {
    {"a strike in the lift that was asked", AttackKind::single, Moment::lift, 0, 90ms, Verdict::on_time, Phase::lift},
    {"a strike in the lift where the drop was asked", AttackKind::single, Moment::drop, 0, 90ms, Verdict::early,
     Phase::lift},
    {"a strike while the leg is up", AttackKind::single, Moment::drop, 1, 100ms, Verdict::clash, Phase::up},
    {"a strike into the pull-back", AttackKind::single, Moment::drop, 2, 100ms, Verdict::clash, Phase::pull_back},
    {"a strike in the drop", AttackKind::single, Moment::drop, 3, 100ms, Verdict::on_time, Phase::drop},
    {"a strike in the drop where the lift was asked", AttackKind::single, Moment::lift, 3, 100ms, Verdict::late,
     Phase::drop},
    {"a strike in the gap where the drop was asked", AttackKind::single, Moment::drop, 4, 100ms, Verdict::late,
     Phase::gap},
    {"a strike in the gap that was asked", AttackKind::single, Moment::gap, 4, 100ms, Verdict::on_time, Phase::gap},
    {"a strike after the attack", AttackKind::single, Moment::drop, 4, 500ms, Verdict::late, Phase::guard},
    {"a spin under a held leg", AttackKind::carry, Moment::drop, 1, 300ms, Verdict::around, Phase::up, Counter::spin},
    {"a hand into a held leg", AttackKind::carry, Moment::drop, 1, 300ms, Verdict::clash, Phase::up,
     Counter::front_hand},
    {"a strike into hands", AttackKind::leg_to_hands, Moment::gap, 5, 100ms, Verdict::clash, Phase::hands},
    {"a strike at a feint", AttackKind::feint, Moment::drop, 0, 150ms, Verdict::took_the_feint, Phase::lift},
    {"a strike in the second lift of a reset", AttackKind::reset, Moment::lift, 5, 90ms, Verdict::on_time, Phase::lift},
    {"a strike between two kicks", AttackKind::reset, Moment::gap, 4, 100ms, Verdict::on_time, Phase::gap},
    {"a strike on another pad", AttackKind::single, Moment::drop, 3, 100ms, Verdict::wrong_pad, Phase::drop,
     Counter::back_leg, pad_bit(PadRole::low_right)},
};

}  // namespace

TEST_CASE(
    "every known strike gets its verdict through real bytes, with a latency that is true within its uncertainty") {
    std::uint64_t seed = 100;
    for (const Known& known : cases) {
        CAPTURE(known.what);
        const RepResult rep = played(known, ++seed);
        CHECK(word(rep.verdict) == word(known.verdict));
        REQUIRE(rep.phase.has_value());
        CHECK(word(*rep.phase) == word(known.phase));
        CHECK(rep.scored == (known.kind != AttackKind::feint));
        if (known.verdict != Verdict::on_time) continue;
        // The script strikes `delay` after the lamp that began the asked moment.
        REQUIRE(rep.latency.has_value());
        const Duration off = *rep.latency - known.delay;
        CHECK(std::abs(off.count()) <= rep.uncertainty.count());
    }
}

TEST_CASE("who does nothing has missed, and who walks off behind has given ground") {
    Known nothing{"nothing", AttackKind::single, Moment::drop, 40, 0ms, Verdict::missed, Phase::guard};
    CHECK(played(nothing, 300).verdict != Verdict::on_time);

    Drill drill = small_drill();
    drill.reps = 1;
    drill.wait_extra = Duration{};
    drill.attacks[0].counter = Counter::back_leg;
    FastRun run(301);
    Script script;
    // Out over both marks before the leg comes up.
    script.after_lamps.push_back({0, 0, 5ms, ScriptPass{GateRole::near_mark, 60ms, 40ms}});
    script.after_lamps.push_back({0, 0, 300ms, ScriptPass{GateRole::far_mark, 60ms, 40ms}});
    run.target.set_script(run.driver.now(), script);
    REQUIRE(run.run(drill, 301) == SessionEnd::finished);
    REQUIRE(run.score().reps().size() == 1);
    CHECK(word(run.score().reps().front().verdict) == "gave ground");
}

TEST_CASE("walking away behind during the count cancels it, and the set starts with the next strike") {
    Drill drill = small_drill();
    drill.reps = 1;
    drill.wait_extra = Duration{};
    FastRun run(302);
    Script script;
    // The rig is ready a moment after the beginning; the script strikes 1 s later, and the count then takes 2.6 s.
    script.at_times.push_back({FastRun::begin + 2500ms, ScriptPass{GateRole::back_mark, 60ms, 40ms}});
    run.target.set_script(run.driver.now(), script);
    REQUIRE(run.run(drill, 302) == SessionEnd::finished);
    std::vector<TargetTime> starts;
    std::optional<TargetTime> back;
    for (const JournalRecord& record : run.records()) {
        if (const auto* start = std::get_if<StartStruck>(&record.event)) starts.push_back(start->at);
        if (const auto* gate = std::get_if<GateEdge>(&record.event); gate != nullptr && gate->broken && !back)
            back = gate->at;
    }
    REQUIRE(back.has_value());
    REQUIRE(starts.size() == 2);
    CHECK(starts[0] < *back);
    CHECK(*back < starts[1]);
    CHECK(run.score().reps().size() == 1);
}
