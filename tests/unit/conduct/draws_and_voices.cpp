// What draws beside a step: a change of pace, the front hand; results in the coach's voice and on the lamps; a level
// that goes on where it stood.
#include <doctest/doctest.h>

#include <algorithm>
#include <utility>
#include <vector>

#include "unit/conduct/countering_bench.hpp"

using namespace breakstep;
using namespace breakstep::testing;

TEST_CASE("a change of pace draws where the drill says so, and an even pace does not") {
    SessionBegan session = session_of(StartKind::drawn);
    session.drill.withheld = 0;
    session.drill.drawn = {500ms, 0};
    session.drill.manners.draw_by(DrewBy::change_of_pace);
    ConductBench bench = bench_of(session);
    begin_set(bench);
    for (int i = 0; i < 4; ++i) step_in_and_out(bench, 1300ms);
    CHECK(bench.count<RepOpened>() == 0);
    step_in_and_out(bench, 700ms);
    pass_gate(bench, GateRole::near_mark);
    const auto opened = bench.all<RepOpened>();
    REQUIRE(opened.size() == 1);
    CHECK(opened[0].start == StartKind::drawn);
    CHECK(opened[0].drew_by == DrewBy::change_of_pace);
    CHECK(opened[0].onset - opened[0].drawn_at == 500ms);
}

TEST_CASE("a hand that is shown, or taken away, draws: by its gate, or by the coach's tap") {
    for (const DrewBy act : {DrewBy::hand_shown, DrewBy::hand_hidden}) {
        CAPTURE(word(act));
        SessionBegan session = session_of(StartKind::drawn);
        session.drill.withheld = 0;
        session.drill.drawn = {600ms, 0};
        session.drill.manners.draw_by(act);
        ConductBench bench(session);
        bench.gates = {GateRole::near_mark, GateRole::far_mark, GateRole::hands};
        bench.connect();
        begin_set(bench);
        pass_gate(bench, GateRole::near_mark);
        CHECK_MESSAGE(bench.count<RepOpened>() == 0, "a step in draws nothing here");
        bench.edge(GateRole::hands, true);
        CHECK((bench.count<RepOpened>() == 1) == (act == DrewBy::hand_shown));
        bench.pass(400ms);
        bench.edge(GateRole::hands, false);
        const auto opened = bench.all<RepOpened>();
        REQUIRE(opened.size() == 1);
        CHECK(opened[0].drew_by == act);
        CHECK(opened[0].onset - opened[0].drawn_at == 600ms);

        ConductBench tapped = bench_of(session);
        begin_set(tapped);
        REQUIRE(tapped.coach(CoachAct::tap_attack));
        const auto by_tap = tapped.all<RepOpened>();
        REQUIRE(by_tap.size() == 1);
        CHECK(by_tap[0].start == StartKind::drawn);
        CHECK(by_tap[0].drew_by == act);
        CHECK_FALSE(tapped.coach(CoachAct::tap_attack));  // it is under way
    }
    ConductBench by_steps = bench_of(session_of(StartKind::drawn));
    begin_set(by_steps);
    CHECK_FALSE(by_steps.coach(CoachAct::tap_attack));
}

TEST_CASE("recorded words are said in place of tones, and a loud hall has each result on the lamps") {
    SessionBegan session = session_of(StartKind::random);
    session.drill.wait_minimum = 1500ms;
    CueDevices devices;
    devices.sound = true;
    devices.words = word_bit(CueSound::word_on_time) | word_bit(CueSound::word_drop);
    devices.loud_hall = true;
    ConductBench bench(session, devices);
    bench.gates = {GateRole::near_mark, GateRole::far_mark, GateRole::back_mark};
    bench.connect();
    begin_set(bench);
    bool struck = false;
    for (int i = 0; i < 4000 && bench.score().reps().size() < 4; ++i) {
        bench.pass(5ms);
        const auto opened = bench.all<RepOpened>();
        if (opened.empty() || opened.back().catch_trial || struck) continue;
        Duration drop{};
        for (const AttackPhase& phase : opened.back().phases) {
            if (phase.phase == Phase::drop) break;
            drop += phase.length;
        }
        if (bench.rig_now() < opened.back().onset + drop + 60ms) continue;
        pass_gate(bench, GateRole::near_mark);
        bench.strike();
        struck = true;
    }
    REQUIRE(bench.score().reps().size() >= 2);
    const auto said = [&](CueSound sound) { return std::count(bench.sounds.begin(), bench.sounds.end(), sound); };
    CHECK(bench.score().reps()[0].verdict == Verdict::on_time);
    CHECK(said(CueSound::word_on_time) >= 1);
    CHECK(said(CueSound::good) == 0);
    CHECK(said(CueSound::word_drop) == 1);
    CHECK_MESSAGE(said(CueSound::bad) >= 1, "what was not recorded stays a tone");
    const LampSet good = good_lamps, bad = bad_lamps;
    std::vector<LampSet> results;
    for (const LampsSet& set : bench.all<LampsSet>())
        if (set.lit == good || set.lit == bad) results.push_back(set.lit);
    REQUIRE(results.size() >= 2);
    CHECK(results.front() == good);
    CHECK(results.back() == bad);
    // Nothing of it is void: the attacks' own lamps stood as planned.
    for (const RepResult& rep : bench.score().reps()) CHECK(rep.verdict != Verdict::void_rep);
}

TEST_CASE("a level goes on where it stood, behind a first set at the drill's own") {
    SessionBegan session = session_of(StartKind::random);
    session.drill.following = {true, 0.75};
    session.drill.sets = 2;
    session.drill.reps = 6;
    session.drill.rest = 5s;
    session.first_window = 0.5;
    session.first_pace = 0.86;
    ConductBench bench = bench_of(session);
    begin_set(bench);
    for (int i = 0; i < 40000 && bench.count<SetEnded>() < 1; ++i) bench.pass(5ms);
    bench.pass(6s);
    bench.strike();
    for (int i = 0; i < 40000 && bench.count<SetEnded>() < 2; ++i) bench.pass(5ms);
    const auto planned = bench.all<SetPlanned>();
    REQUIRE(planned.size() == 2);
    CHECK(planned[0].pace == 1);
    CHECK(planned[1].pace == 0.86);
    bool first = true;
    for (const RepOpened& opened : bench.all<RepOpened>()) {
        if (opened.catch_trial) continue;
        if (opened.set == 0 || opened.counts) {
            CHECK(opened.window == 1);
            continue;
        }
        if (std::exchange(first, false)) CHECK(opened.window == doctest::Approx(0.5));
    }
    CHECK_FALSE(first);
}
