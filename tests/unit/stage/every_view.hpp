// One view of every screen of the stage, each as full as it can be, for what must hold of all of them.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "unit/stage/pixels.hpp"

namespace pixels {

struct NamedView {
    std::string name;
    StageView view;
    Duration at{};  ///< since `start`
};

inline std::vector<StripRep> strip_of(int reps) {
    std::vector<StripRep> rows;
    for (int i = 1; i <= reps; ++i) rows.push_back({i, single(), static_cast<Verdict>(i % 12), 250ms, 500ms});
    return rows;
}

inline StageView task(Moment moment, Side lead = Side::right) {
    StageView view;
    view.screen = StageScreen::task;
    view.athlete = "Sanderling";
    view.task.attack = single();
    view.task.moments = moment_bit(moment);
    view.task.says = "Open the door high, then strike as the leg comes down.";
    view.task.opponent_lead = lead;
    view.task.pads = pad_bit(PadRole::high_right);
    view.task.feints = true;
    view.task.set = 1;
    view.task.sets = 2;
    view.task.reps = 10;
    return view;
}

inline StageView summary(bool child) {
    StageView view;
    view.screen = StageScreen::summary;
    view.athlete = "Heron";
    view.saved = true;
    StageSummary& shown = view.summary;
    shown.advice = "Start while it is up, arrive as it drops.";
    shown.reason = "3 clashes, 0.04 s before the hip line.";
    shown.best_run = 4;
    shown.next = "Sanderling";
    shown.then = "Lapwing";
    shown.prompt = "Strike a pad for your task.";
    if (child) return view;
    shown.on_time = 7;
    shown.of = 10;
    shown.answers = {10, Verdict::on_time};
    shown.last_on_time = 5;
    shown.last_of = 10;
    shown.last_answers = {10, Verdict::clash};
    shown.compared = "about as last time";
    shown.reps = strip_of(12);
    return view;
}

inline StageView pairs(bool change_over, int count) {
    StageView view;
    view.screen = StageScreen::pairs;
    view.pairs.change_over = change_over;
    view.pairs.words = change_over ? "Change over." : "Any time in 3 s: attack";
    view.pairs.cue = 9;
    view.pairs.cues = 16;
    view.pairs.begin = start;
    view.pairs.end = start + 3s;
    for (int i = 1; i <= count; ++i) {
        PairTile tile{i, static_cast<AttackKind>(i % 6), i == 4, "", ""};
        if (change_over) {
            tile.attacks = "Sanderling";
            tile.defends = "Whimbrel";
        }
        view.pairs.tiles.push_back(tile);
    }
    return view;
}

inline std::vector<NamedView> every_view() {
    std::vector<NamedView> views;
    StageView playing = live({{7, start, single(), 400ms}});
    playing.leans = true;
    views.push_back({"live, leaning", playing, -100ms});
    views.push_back({"live, up", playing, 260ms});
    playing.verdict = StageVerdict{Verdict::late, Moment::lift, Phase::drop, VoidReason::none, false, start + 700ms};
    views.push_back({"live, a word", playing, 800ms});
    StageView nudged = live({});
    nudged.nudge = StageNudge{"Same beat", Sign::tell, {0ms, 800ms, 1600ms, 2400ms}, start};
    views.push_back({"live, a nudge", nudged, 100ms});
    StageView message = live({});
    message.message = StageMessage{"The rig does not answer.", "Check the cable."};
    views.push_back({"live, a message", message, 0ms});
    StageView counting = live({});
    counting.count = StageCount{start, 700ms};
    counting.notice = "the near gate flickers: look at its lamp";
    views.push_back({"live, the count", counting, 800ms});
    for (const bool follows : {false, true}) {
        StageView lured;
        lured.screen = StageScreen::live;
        lured.athlete = "Sanderling";
        lured.rep = 3;
        lured.reps = 10;
        lured.zone = AthleteZone::between;
        lured.lure = StageLure{{0s, 900ms, 1800ms}, {1200ms, 1750ms, 2700ms}, follows};
        views.push_back({follows ? "live, break the beat" : "live, set a beat", lured, 0s});
    }
    StageView rest;
    rest.screen = StageScreen::rest;
    rest.athlete = "Heron";
    rest.saved = true;
    rest.rest.set = 1;
    rest.rest.sets = 4;
    rest.rest.advice = "Start while it is up, arrive as it drops.";
    rest.rest.reason = "3 clashes, 0.04 to 0.11 s before the hip line.";
    rest.rest.reps = strip_of(10);
    rest.rest.rhythm = RhythmLane{};
    const Guess guess{750ms, 1050ms};
    rest.rest.rhythm->steps = {{900ms, false, std::nullopt, false},
                               {820ms, false, guess, true},
                               {1400ms, false, guess, false},
                               {300ms, true, std::nullopt, false},
                               {880ms, false, guess, true}};
    rest.rest.rhythm->windows = 28;
    rest.rest.rhythm->caught = 17;
    rest.rest.rhythm->chance = 7;
    rest.rest.rhythm->sign = Sign::tell;
    rest.rest.read = Sign::tell;
    rest.rest.read_words = "after two retreats you go, 8 of 9";
    rest.rest.next = "Curlew";
    rest.rest.then = "Lapwing";
    rest.rest.begin = start;
    rest.rest.end = start + 60s;
    views.push_back({"rest", rest, 10s});
    rest.notice = "the near gate flickers: look at its lamp";
    views.push_back({"rest, a notice", rest, 10s});
    StageView turns;
    turns.screen = StageScreen::turns;
    turns.saved = true;
    turns.turns.club = "Saltmarsh Hall";
    turns.turns.next = "Curlew";
    turns.turns.drill = "Drop of a single kick, front hand";
    turns.turns.prompt = "Strike a pad for your task.";
    turns.turns.follows = {{"Lapwing", 2, ""}, {"Dunlin", 5, "gates one hole down"}, {"Plover", 7, ""}};
    turns.turns.turns_done = 9;
    turns.turns.turns = 24;
    turns.turns.minutes_left = 31;
    turns.turns.evening = {
        {"warm-up", 10, 1}, {"round 1", 18, 1}, {"drink", 3, 0.4}, {"round 2", 20, 0}, {"close", 8, 0}};
    views.push_back({"turns", turns, 0s});
    for (const Moment moment : {Moment::lift, Moment::gap, Moment::drop}) {
        views.push_back({"task, " + std::string(word(moment)), task(moment), 0s});
        views.push_back({"task, left, " + std::string(word(moment)), task(moment, Side::left), 0s});
    }
    StageView careful = task(Moment::drop, Side::left);
    careful.task.caution = "Sore or dizzy: stop and say so. A knock to the head ends the session.";
    careful.task.also = "after two kicks: gap";
    careful.task.feints = false;
    careful.task.both_leads = true;
    views.push_back({"task, cautions", careful, 0s});
    StageView room = careful;
    room.task.strikes = false;
    room.task.says = "Between the marks while it is up, home as it lands.";
    views.push_back({"task, no strike", room, 0s});
    careful.task.watch_since = start;
    views.push_back({"task, watch first", careful, 2s});
    views.push_back({"summary", summary(false), 0s});
    views.push_back({"summary of a child", summary(true), 0s});
    StageView block;
    block.screen = StageScreen::block;
    block.turns.club = "Saltmarsh Hall";
    block.block = {"pairs", "round 2, adults", "One height, four metres apart.", "gates one hole up",
                   start,   start + 600s};
    views.push_back({"block", block, 100s});
    for (const int count : {2, 5, 10}) {
        views.push_back({"pairs, a cue, " + std::to_string(count), pairs(false, count), 1s});
        views.push_back({"pairs, change over, " + std::to_string(count), pairs(true, count), 1s});
    }
    return views;
}

}  // namespace pixels
