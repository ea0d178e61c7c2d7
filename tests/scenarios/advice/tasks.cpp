// What the stage says before a set and after a turn, from shipped drills and invented results.
#include <doctest/doctest.h>

#include <set>

#include "core/conduct/conduct.hpp"
#include "core/trade/plan.hpp"
#include "hall/scene/advice.hpp"
#include "hall/scene/beside_words.hpp"
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
    // What is judged otherwise is said, beside feints too.
    const StageTask rusher = task_of(session_of("against-rusher"), 0);
    CHECK(rusher.feints);
    CHECK(rusher.moments == moment_bit(Moment::gap));
    CHECK(rusher.also == "a single kick: drop");
    CHECK(task_of(session_of("partner-kicks"), 0).also == "after two kicks: gap, before its hands: gap");
    CHECK(task_of(session_of("free-exchange"), 0).round == 60s);
    CHECK(task_of(session_of("feints"), 0).round == 0s);
}

TEST_CASE("a task says what the athlete does about the attack, not the strike alone") {
    const auto says = [](const char* drill) { return task_of(session_of(drill), 0).says; };
    CHECK(says("drop-of-a-single-kick") == "Strike as the leg comes down.");
    CHECK(says("meeting-the-lift") == "Strike as it leans and lifts.");
    CHECK(says("in-and-out") == "Between the marks while it is up, home as it lands.");
    CHECK_FALSE(task_of(session_of("in-and-out"), 0).strikes);
    CHECK(says("leave") == "Strike when the foot has landed, and out.");
    CHECK(says("lure") == "Set a beat. Once it follows, strike ahead of it.");
    CHECK(says("hunted") == "It times your steps in: strike as the leg comes down.");
    CHECK(says("show-and-go") == "Step in and it comes: strike as the leg comes down.");
    CHECK(says("two-back") == "Back twice, then strike as the leg comes down.");
    CHECK(says("open-door") == "Open the door high, then strike as the leg comes down.");
    CHECK(says("change-of-pace") == "Change your pace, then strike as the leg comes down.");
    CHECK(says("hand-shown") == "Show your hand, then strike as the leg comes down.");
    CHECK(says("hand-hidden") == "Take your hand away, then strike as the leg comes down.");
    CHECK(says("drawing-the-attack") == "Draw it out, then strike as the leg comes down.");
    CHECK(says("step-off") == "Step off the line and strike as it comes down or lands.");
    CHECK(says("own-legs-into-hands") == "Strike when the foot has landed, then high at once.");
    CHECK(says("counter-to-the-counter") == "Strike as the leg comes down, and out: it answers.");
    CHECK(says("free-exchange") == "Step in as you like, and answer each kick.");
    CHECK(says("who-makes-whom-go") == "Step in when you would. It may kick, or not.");
    CHECK(task_of(session_of("call-it"), 0).also.empty());
    CHECK(task_of(session_of("call-it"), 1).also == "then call it yourself");
    const auto drills = list_drills(Settings{});
    REQUIRE(drills.has_value());
    for (const Drill& drill : drills->drills) {
        SessionBegan session;
        session.drill = drill;
        CAPTURE(drill.name);
        CHECK_FALSE(task_of(session, 0).says.empty());
        CHECK(task_of(session, 0).says.size() <= 60);
    }
}

TEST_CASE("where a coin asks for the first strike or the one after, the task shows which, set by set") {
    SessionBegan session = session_of("first-or-after");
    for (std::uint64_t seed = 1; seed <= 8; ++seed) {
        session.seed = seed;
        for (std::int32_t set = 0; set < 2; ++set) {
            const StageTask task = task_of(session, set);
            for (const PlannedAttack& planned : plan_set(session.drill, seed, set, 10, 1, 0))
                if (!planned.catch_trial)
                    CHECK(task.moments ==
                          moment_bit(session.drill.attacks[static_cast<std::size_t>(planned.attack)].moment));
        }
        CHECK(task_of(session, 0).says != task_of(session, 1).says);
    }
}

TEST_CASE("room that was kept is not called a feint that was left alone") {
    const SessionBegan session = session_of("in-and-out");
    const Link link(LinkSettings{}, 1);
    Scene scene;
    scene.kind = SceneKind::running;
    const auto room = [&](const RepResult& result) {
        scene.verdict = result;
        return stage_view(scene, SceneNames(), Score(), link, HostTime(), true, &session).verdict->room;
    };
    RepResult kept;
    kept.asked = session.drill.attacks.front();
    kept.verdict = Verdict::held;
    kept.rung_hit = true;
    CHECK(room(kept));
    RepResult feint = kept;
    feint.asked.kind = AttackKind::feint;
    feint.rung_hit.reset();
    CHECK_FALSE(room(feint));
}

TEST_CASE("where room alone was asked for the advice is about room") {
    const auto room = [](Verdict verdict) {
        RepResult result = rep(verdict);
        result.scored = false;
        result.rung_hit = verdict == Verdict::held;
        return result;
    };
    using enum Verdict;
    const auto said = [](const std::vector<RepResult>& reps) {
        const Advice advice = words_of(advice_of(reps, Sign::none), false);
        return advice.line + " " + advice.reason;
    };
    CHECK(said({room(got_hit), room(held), room(got_hit)}) ==
          "Stay between the marks until it has landed. 2 times inside the near mark while the leg was up.");
    CHECK(said({room(gave_ground), room(held), room(gave_ground)}) ==
          "Not so far back: home as it lands. 2 times not between the marks in time.");
    CHECK(said({room(held), room(held), room(held)}) == "Good. The same again. 3 of 3 out and home in time.");
}

TEST_CASE("behind a verdict stands what was seen of what else was asked") {
    const auto asks = [](const char* drill) { return session_of(drill).drill.asks; };
    RepResult hit = rep(Verdict::on_time);
    CHECK(beside_words(asks("leave"), hit).empty());
    hit.out_in_time = true;
    CHECK(beside_words(asks("leave"), hit) == "and out");
    hit.out_in_time = false;
    CHECK(beside_words(asks("leave"), hit) == "still inside");
    RepResult again = rep(Verdict::on_time);
    again.followed_up = false;
    CHECK(beside_words(asks("own-legs-into-hands"), again) == "no second strike");
    RepResult off = rep(Verdict::late);
    off.off_line = true;
    CHECK(beside_words(asks("step-off"), off) == "off the line");
    CHECK(beside_words(asks("drop-of-a-single-kick"), off).empty());
    RepResult ground = rep(Verdict::on_time);
    ground.rung_hit = false;
    CHECK(beside_words(asks("two-back"), ground) == "more ground given");
    RepResult said = rep(Verdict::late);
    said.called = Verdict::on_time;
    CHECK(beside_words(asks("call-it"), said) == "you said on time");
    said.called = Verdict::late;
    CHECK(beside_words(asks("call-it"), said) == "as you said");
    RepResult lure = rep(Verdict::on_time);
    lure.lure.played = lure.lure.readable = true;
    lure.lure.ahead = 210ms;
    CHECK(beside_words(asks("lure"), lure) == "0.2 s ahead of the beat");
    lure.lure.ahead = -20ms;
    CHECK(beside_words(asks("lure"), lure) == "on the beat");
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
