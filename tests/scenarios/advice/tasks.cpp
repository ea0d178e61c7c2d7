// What the stage says before a set and after a turn, from shipped drills and invented results.
#include <doctest/doctest.h>

#include <set>

#include "core/conduct/conduct.hpp"
#include "hall/scene/pairs_view.hpp"
#include "hall/scene/scene_view.hpp"
#include "settings/drill_file.hpp"
#include "settings/settings.hpp"

using namespace breakstep;

namespace {

SessionBegan session_of(const char* name, Side lead = Side::right) {
    SessionBegan session;
    const auto drill = load_drill(name, {});
    REQUIRE(drill.has_value());
    session.drill = *drill;
    session.athlete_lead = lead;
    return session;
}

RepResult rep(Verdict verdict) {
    RepResult result;
    result.verdict = verdict;
    result.scored = true;
    return result;
}

}  // namespace

TEST_CASE("every shipped drill has a task that can be drawn: an attack in which each asked moment comes") {
    const auto drills = list_drills(Settings{});
    REQUIRE(drills.has_value());
    for (const Drill& drill : drills->drills) {
        CAPTURE(drill.name);
        SessionBegan session;
        session.drill = drill;
        const StageTask task = task_of(session, 0);
        CHECK(task.reps == drill.reps);
        CHECK(task.set == 1);
        CHECK(task.moments != 0);
        CHECK_FALSE(task.attack.phases.empty());
        std::set<Phase> phases;
        bool held = false;
        for (const AttackPhase& phase : task.attack.phases) {
            phases.insert(phase.phase);
            held = held || phase.held;
        }
        if ((task.moments & moment_bit(Moment::lift)) != 0) CHECK(phases.contains(Phase::lift));
        if ((task.moments & moment_bit(Moment::drop)) != 0) CHECK(phases.contains(Phase::drop));
        if ((task.moments & moment_bit(Moment::gap)) != 0) CHECK(phases.contains(Phase::gap));
        if (task.around) CHECK(held);
    }
}

TEST_CASE("a task says what its drill's file says") {
    const StageTask drop = task_of(session_of("drop-of-a-single-kick"), 1);
    CHECK(drop.moments == moment_bit(Moment::drop));
    CHECK(drop.counter == Counter::front_hand);
    CHECK(drop.pads == (pad_bit(PadRole::high_left) | pad_bit(PadRole::high_right)));
    CHECK(drop.athlete_lead == Side::right);  // closed, the opponent's right in front
    CHECK(drop.set == 2);
    CHECK_FALSE(drop.feints);
    const StageTask feints = task_of(session_of("feints"), 0);
    CHECK(feints.feints);
    CHECK(feints.athlete_lead == Side::left);  // open
    CHECK(task_of(session_of("meeting-the-lift"), 0).leans);
    CHECK(task_of(session_of("around-the-held-leg", Side::left), 0).around);
    CHECK(task_of(session_of("around-the-held-leg", Side::left), 0).athlete_lead == Side::left);
    CHECK(task_of(session_of("rebounds"), 0).moments == (moment_bit(Moment::drop) | moment_bit(Moment::gap)));
    CHECK(task_of(session_of("the-coachs-pattern"), 0).also == "after two kicks: gap");
}

TEST_CASE("the task stands before every set, with cautions and a look at the attack before the first alone") {
    const SessionBegan session = session_of("drop-of-a-single-kick");
    const Link link(LinkSettings{}, 1);
    SceneNames names;
    names.caution = caution_before_the_first_set();
    names.watch_first = true;
    Scene scene;
    scene.kind = SceneKind::awaiting_start;
    scene.awaiting_since = HostTime(5s);
    const auto shown = [&] { return stage_view(scene, names, Score(), link, HostTime(), true, &session); };
    CHECK(shown().screen == StageScreen::task);
    CHECK(shown().task.caution == names.caution);
    CHECK(shown().task.watch_since == HostTime(5s));
    scene.set = 1;
    CHECK(shown().screen == StageScreen::task);
    CHECK(shown().task.caution.empty());
    CHECK_FALSE(shown().task.watch_since.has_value());
    // Gone at the first lamp; and trouble is told instead of it.
    scene.kind = SceneKind::counting;
    CHECK(shown().screen == StageScreen::live);
    scene.kind = SceneKind::awaiting_start;
    scene.trouble = VoidReason::link_lost;
    CHECK(shown().screen == StageScreen::live);
    CHECK(shown().message.has_value());
}

TEST_CASE("more or fewer than last time is said only where the interval of the difference leaves nothing out") {
    StageSummary summary;
    summary.on_time = 7;
    summary.of = 10;
    add_last_time(summary, {5, 10, {}});
    CHECK(summary.compared == "about as last time");
    // Newcombe's interval of 7 and 5 of 10: -20 to +53 points.
    const Difference by = difference_of_shares(7, 10, 5, 10);
    CHECK(by.low == doctest::Approx(-0.20).epsilon(0.05));
    CHECK(by.high == doctest::Approx(0.53).epsilon(0.05));
    summary.on_time = 10;
    add_last_time(summary, {2, 10, {}});
    CHECK(summary.compared == "more than last time");
    summary.on_time = 1;
    add_last_time(summary, {9, 10, {}});
    CHECK(summary.compared == "fewer than last time");
    StageSummary first;
    first.of = 10;
    add_last_time(first, {});
    CHECK(first.last_of == 0);
    CHECK(first.compared.empty());
}

TEST_CASE("counts are of reps that count") {
    std::vector<RepResult> reps{rep(Verdict::on_time), rep(Verdict::around), rep(Verdict::clash)};
    reps.push_back(rep(Verdict::held));
    reps.back().scored = false;
    const LastTime last = last_time_of(reps);
    CHECK(last.on_time == 2);
    CHECK(last.of == 3);
    CHECK(last.answers == std::vector<Verdict>{Verdict::on_time, Verdict::around, Verdict::clash});
}

TEST_CASE(
    "a class goes from change over to cues and back, with tones at the rounds' ends alone and names at change over") {
    PairsClass given;
    given.drill = session_of("feints").drill;
    given.names = {{"Heron", "Curlew"}, {"Teal", "Snipe"}};
    PairsOptions options;
    options.pairs = 2;
    options.cues = 3;
    given.rounds = plan_pairs(given.drill, 1, options);
    const auto steps = steps_of(given);
    int tones = 0, changes = 0;
    Duration last{-1};
    for (const PairsStep& step : steps) {
        CHECK(step.from > last);
        last = step.from;
        tones += step.tone ? 1 : 0;
        changes += step.shown.change_over ? 1 : 0;
        const bool cue = !step.shown.change_over && step.shown.end > step.shown.begin;
        if (cue) CHECK_FALSE(step.tone);
        for (const PairTile& tile : step.shown.tiles) {
            CHECK(tile.attacks.empty() != step.shown.change_over);
            CHECK(tile.holds == (!cue && !step.shown.change_over));
        }
    }
    CHECK(changes == 2);
    CHECK(tones == 4);  // two begins, two ends
    CHECK(steps.front().shown.tiles[0].attacks == "Heron");
    for (const PairsStep& step : steps)
        if (step.shown.change_over && step.from > 0s) CHECK(step.shown.tiles[0].attacks == "Curlew");
    const StageView view = pairs_view(steps[2], HostTime(100s));
    CHECK(view.pairs.begin == HostTime(100s) + steps[2].from);
}

TEST_CASE("where turns follow by themselves a summary stands a while, and names who is next") {
    StandingSummary standing(5s);
    StageView summary, task;
    summary.screen = StageScreen::summary;
    task.screen = StageScreen::task;
    task.athlete = "Curlew";
    task.task.watch_since = HostTime(11s);
    StageView shown = summary;
    standing.show(shown, HostTime(10s));
    shown = task;
    standing.show(shown, HostTime(11s));
    CHECK(shown.screen == StageScreen::summary);
    CHECK(shown.summary.next == "Curlew");
    CHECK_FALSE(standing.due(HostTime(14s)).has_value());
    const auto due = standing.due(HostTime(15s));
    REQUIRE(due.has_value());
    CHECK(due->screen == StageScreen::task);
    CHECK(due->task.watch_since == HostTime(15s));
    shown = task;
    standing.show(shown, HostTime(16s));
    CHECK(shown.screen == StageScreen::task);
}
