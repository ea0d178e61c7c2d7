// Drills that follow, lure, answer back and ask for more than the strike: conduct and score together.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "core/trade/rules.hpp"
#include "unit/conduct/countering_bench.hpp"

using namespace breakstep;
using namespace breakstep::testing;

TEST_CASE("a beat that is set is followed, and who breaks it is ahead of the expected step") {
    SessionBegan session = session_of(StartKind::lure);
    session.drill.attacks.front().moment = Moment::lift;
    session.drill.lead = 250ms;
    ConductBench bench = bench_of(session);
    begin_set(bench);
    for (int i = 0; i < 12; ++i) {
        pass_gate(bench, GateRole::near_mark);
        bench.pass(300ms);
        pass_gate(bench, GateRole::near_mark);
        if (bench.count<RepOpened>() > 0) break;
        bench.pass(520ms);
    }
    const auto opened = bench.all<RepOpened>();
    REQUIRE(opened.size() == 1);
    CHECK(opened[0].start == StartKind::lure);
    CHECK(opened[0].trigger != 0);
    CHECK(opened[0].drew_by == DrewBy::entry);
    REQUIRE(bench.conduct().scene().lure.has_value());
    CHECK(bench.conduct().scene().lure->follows);
    // Committed to the next step in, as it is expected.
    CHECK(std::abs(static_cast<double>((opened[0].onset - opened[0].drawn_at - 900ms).count())) < 60e6);
    until(bench, opened[0].onset - 260ms);
    pass_gate(bench, GateRole::near_mark);
    until(bench, opened[0].onset - 30ms);
    bench.strike();
    bench.pass(3s);
    const auto& reps = bench.score().reps();
    REQUIRE(reps.size() == 1);
    CHECK(reps[0].verdict == Verdict::on_time);
    CHECK(reps[0].lure.played);
    CHECK(reps[0].lure.readable);
    CHECK(reps[0].lure.broken);
    REQUIRE(reps[0].lure.ahead.has_value());
    CHECK(std::abs(static_cast<double>((*reps[0].lure.ahead - 260ms).count())) < 10e6);
    CHECK_FALSE(bench.conduct().scene().lure->follows);
}

TEST_CASE("who steps in on the beat after all has not broken it") {
    SessionBegan session = session_of(StartKind::lure);
    session.drill.attacks.front().moment = Moment::lift;
    ConductBench bench = bench_of(session);
    begin_set(bench);
    for (int i = 0; i < 12 && bench.count<RepOpened>() == 0; ++i) step_in_and_out(bench, 900ms);
    REQUIRE(bench.count<RepOpened>() == 1);
    step_in_and_out(bench, 900ms);
    bench.pass(4s);
    const auto& reps = bench.score().reps();
    REQUIRE(reps.size() == 1);
    CHECK(reps[0].lure.readable);
    CHECK_FALSE(reps[0].lure.broken);
    CHECK(bench.score().totals().wealth == 1);  // a beat that is asked for betrays nobody
}

TEST_CASE("who sets no beat is attacked in the end, and was not readable") {
    ConductBench bench = bench_of(session_of(StartKind::lure));
    begin_set(bench);
    for (const Duration beat : {700ms, 2900ms, 1100ms, 2300ms, 800ms, 3100ms}) step_in_and_out(bench, beat);
    CHECK(bench.count<RepOpened>() == 0);
    bench.pass(20s);
    const auto opened = bench.all<RepOpened>();
    REQUIRE(opened.size() >= 1);
    CHECK(opened[0].start == StartKind::lure);
    CHECK(opened[0].trigger == 0);
    const auto& reps = bench.score().reps();
    REQUIRE(reps.size() >= 1);
    CHECK(reps[0].lure.played);
    CHECK_FALSE(reps[0].lure.readable);
}

TEST_CASE("an opponent that answers strikes kicks again behind its own attack, and not one that was not struck") {
    SessionBegan session = session_of(StartKind::countered);
    session.drill.manners.struck = {1, 400ms};
    session.drill.manners.spread = 0;
    ConductBench bench = bench_of(session);
    begin_set(bench);
    while (bench.count<RepOpened>() == 0) bench.pass(20ms);
    const RepOpened first = *newest(bench.all<RepOpened>());
    CHECK(first.start == StartKind::random);
    Duration length{};
    for (const AttackPhase& phase : first.phases) length += phase.length;
    until(bench, first.onset + 600ms);
    bench.strike();
    const auto opened = bench.all<RepOpened>();
    REQUIRE(opened.size() == 2);
    CHECK(opened[1].start == StartKind::countered);
    CHECK(opened[1].drew_by == DrewBy::strike);
    CHECK(opened[1].onset >= first.onset + length + behind_attack);
    // Struck once more in the same attack: it has made up its mind.
    bench.pass(20ms);
    bench.strike();
    CHECK(bench.count<RepOpened>() == 2);
    until(bench, opened[1].close + 1s);
    const auto third = bench.all<RepOpened>();
    for (std::size_t i = 2; i < third.size(); ++i) CHECK(third[i].start == StartKind::random);
}

TEST_CASE("a stop kick meets a step in, and a hop in who gives ground") {
    SessionBegan session = session_of(StartKind::drawn);
    session.drill.withheld = 0;
    session.drill.manners.stepped_at = {1, 220ms};
    session.drill.manners.retreated_from = {1, 300ms};
    session.drill.manners.spread = 0;
    ConductBench bench = bench_of(session);
    begin_set(bench);
    pass_gate(bench, GateRole::near_mark);
    auto opened = bench.all<RepOpened>();
    REQUIRE(opened.size() == 1);
    CHECK(opened[0].start == StartKind::stepped_at);
    CHECK(opened[0].onset - opened[0].drawn_at == 220ms);
    bench.pass(300ms);
    pass_gate(bench, GateRole::near_mark);
    until(bench, opened[0].close + 100ms);
    pass_gate(bench, GateRole::far_mark);
    opened = bench.all<RepOpened>();
    REQUIRE(opened.size() == 2);
    CHECK(opened[1].start == StartKind::retreated_from);
    CHECK(opened[1].drew_by == DrewBy::ground_given);
    CHECK(opened[1].onset - opened[1].drawn_at == 300ms);
    // Drawn drills of before know no ground given once.
    session.drill.manners = {};
    ConductBench plain = bench_of(session);
    begin_set(plain);
    pass_gate(plain, GateRole::far_mark);
    CHECK(plain.count<RepOpened>() == 0);
}

TEST_CASE("the way out counts beside the verdict, also where it comes after the close") {
    for (const Duration out_after : {300ms, 590ms, 650ms}) {
        CAPTURE(out_after.count());
        SessionBegan session = session_of(StartKind::random);
        session.drill.asks.rung = RungAim::leave;
        session.drill.asks.out_within = 600ms;
        ConductBench bench = bench_of(session);
        begin_set(bench);
        while (bench.count<RepOpened>() == 0 || newest(bench.all<RepOpened>())->catch_trial) bench.pass(20ms);
        const RepOpened rep = *newest(bench.all<RepOpened>());
        until(bench, rep.onset + 350ms);
        pass_gate(bench, GateRole::near_mark);
        until(bench, rep.onset + 600ms);
        const HostTime struck = bench.now();
        bench.strike();
        bench.pass(out_after);
        pass_gate(bench, GateRole::near_mark);
        bench.pass(2s);
        const auto result = std::find_if(bench.score().reps().begin(), bench.score().reps().end(),
                                         [&](const RepResult& each) { return each.rep == rep.rep; });
        REQUIRE(result != bench.score().reps().end());
        CHECK(result->verdict == Verdict::on_time);
        CHECK(result->out_in_time == (out_after <= 600ms));
        // The picture tells it as long as a verdict stands, from when it is known.
        const Scene& scene = bench.conduct().scene();
        REQUIRE(scene.verdict);
        CHECK(scene.verdict->out_in_time == result->out_in_time);
        CHECK(scene.verdict_since >= struck + std::min(out_after, Duration(600ms)));
        CHECK(result->rung_hit == (out_after <= 600ms));
    }
}

TEST_CASE("a level that follows moves in training and never in a test") {
    for (const bool test : {false, true}) {
        SessionBegan session = session_of(StartKind::random);
        session.drill.test = test;
        session.drill.following.follows = true;
        session.drill.sets = 2;
        session.drill.reps = 20;
        ConductBench bench = bench_of(session);
        const auto miss_all = [&] { bench.play_set(); };
        miss_all();
        bench.pass(6s);
        std::int32_t struck = -1;
        bench.play_set([&](ConductBench& each) {
            const auto opened = each.all<RepOpened>();
            if (opened.empty() || opened.back().catch_trial || opened.back().set != 1) return;
            const RepOpened& rep = opened.back();
            if (static_cast<std::int32_t>(rep.rep) == struck || each.rig_now() < rep.onset + 620ms) return;
            struck = static_cast<std::int32_t>(rep.rep);
            each.strike();
        });
        double narrowest = 1;
        int counted = 0, all = 0;
        for (const RepOpened& rep : bench.all<RepOpened>()) {
            if (rep.catch_trial) continue;
            narrowest = std::min(narrowest, rep.window);
            if (rep.set == 0 || test) CHECK(rep.window == 1);
            if (rep.counts) CHECK(rep.window == 1);
            all += rep.set == 1 ? 1 : 0;
            counted += rep.set == 1 && rep.counts ? 1 : 0;
        }
        CHECK((narrowest < 1) == !test);
        CHECK(all == 20);
        CHECK((counted == 20) == test);
    }
}

TEST_CASE("in a set that the athlete calls every wait begins as late, struck or not, and the call is no answer") {
    std::vector<std::vector<TargetTime>> onsets;
    for (const bool strikes : {false, true}) {
        SessionBegan session = session_of(StartKind::random, 12);
        session.drill.asks.call_it_set = 1;
        session.drill.reps = 5;
        ConductBench bench = bench_of(session);
        std::int32_t struck = -1, called = -1;
        bench.play_set([&](ConductBench& each) {
            const auto opened = each.all<RepOpened>();
            if (!strikes || opened.empty() || opened.back().catch_trial) return;
            const RepOpened& rep = opened.back();
            const auto id = static_cast<std::int32_t>(rep.rep);
            Duration length{};
            for (const AttackPhase& phase : rep.phases) length += phase.length;
            if (struck != id && each.rig_now() >= rep.onset + 600ms) {
                struck = id;
                each.strike();
            }
            if (called != id && each.rig_now() >= rep.onset + length + 900ms) {
                called = id;
                CHECK(each.conduct().scene().call_it);
                each.strike(PadRole::low_right);
            }
        });
        auto& planned = onsets.emplace_back();
        for (const PlannedRep& rep : bench.all<SetPlanned>().front().reps) planned.push_back(rep.onset);
        for (const RepOpened& rep : bench.all<RepOpened>()) CHECK(rep.onset.same_boot(rep.close));
        for (const RepResult& rep : bench.score().reps()) {
            if (rep.catch_trial) continue;
            CHECK(rep.called == (strikes ? std::optional(Verdict::late) : std::nullopt));
            CHECK(rep.later_contacts.empty());
            if (strikes) CHECK(rep.verdict == Verdict::on_time);
        }
        CHECK(bench.score().totals().stray_contacts == 0);
    }
    CHECK(onsets[0] == onsets[1]);
}

TEST_CASE("a strike that opens a door is no answer to what comes through it") {
    SessionBegan session = session_of(StartKind::drawn);
    session.drill.withheld = 0;
    session.drill.manners.draws = 1U << static_cast<unsigned>(DrewBy::strike);
    session.drill.manners.door = {1, 450ms};
    session.drill.manners.door_pads = pad_bit(PadRole::high_left);
    session.drill.manners.spread = 0;
    ConductBench bench = bench_of(session);
    begin_set(bench);
    pass_gate(bench, GateRole::near_mark);
    CHECK(bench.count<RepOpened>() == 0);
    bench.pass(100ms);
    bench.strike(PadRole::high_left);
    const auto opened = bench.all<RepOpened>();
    REQUIRE(opened.size() == 1);
    CHECK(opened[0].drew_by == DrewBy::strike);
    CHECK(opened[0].onset - opened[0].drawn_at == 450ms);
    until(bench, opened[0].onset + 620ms);
    bench.strike();
    bench.pass(3s);
    REQUIRE(bench.score().reps().size() == 1);
    CHECK(bench.score().reps()[0].verdict == Verdict::on_time);
    CHECK(bench.score().reps()[0].draw_to_toe_off == 450ms);
}

TEST_CASE("in and out: between the marks at toe-off, out while the leg is up, home as the foot is down") {
    for (const bool steps_in : {false, true}) {
        SessionBegan session = session_of(StartKind::random);
        session.drill.asks.rung = RungAim::range;
        ConductBench bench = bench_of(session);
        begin_set(bench);
        while (bench.count<RepOpened>() == 0 || newest(bench.all<RepOpened>())->catch_trial) bench.pass(20ms);
        const RepOpened rep = *newest(bench.all<RepOpened>());
        until(bench, rep.onset + 200ms);
        if (steps_in) pass_gate(bench, GateRole::near_mark);
        bench.pass(3s);
        const auto result = std::find_if(bench.score().reps().begin(), bench.score().reps().end(),
                                         [&](const RepResult& each) { return each.rep == rep.rep; });
        REQUIRE(result != bench.score().reps().end());
        CHECK(result->rung_hit == !steps_in);
        CHECK(result->verdict == (steps_in ? Verdict::got_hit : Verdict::held));
        CHECK_FALSE(result->scored);
    }
}
