#include "devices/stage/pictures.hpp"

#include <cmath>

#include "core/random.hpp"
#include "devices/stage/draw_stage.hpp"
#include "report/drawing/picture_file.hpp"
#include "report/drawing/shapes.hpp"

namespace breakstep {
namespace {

const HostTime start{std::chrono::seconds{1000}};

AttackTimeline attack(AttackKind kind, std::initializer_list<AttackPhase> phases) { return {kind, phases, {}}; }

AttackTimeline single(int lift, int up, int pull_back, int drop, int gap) {
    return attack(AttackKind::single, {{Phase::lift, false, lift * 1ms},
                                       {Phase::up, false, up * 1ms},
                                       {Phase::pull_back, false, pull_back * 1ms},
                                       {Phase::drop, false, drop * 1ms},
                                       {Phase::gap, false, gap * 1ms}});
}

AttackTimeline feint(int length) { return attack(AttackKind::feint, {{Phase::lift, false, length * 1ms}}); }

AttackTimeline rebound() {
    return attack(AttackKind::rebound, {{Phase::lift, false, 140ms},
                                        {Phase::up, false, 220ms},
                                        {Phase::pull_back, false, 150ms},
                                        {Phase::up, false, 200ms},
                                        {Phase::pull_back, false, 180ms},
                                        {Phase::drop, false, 170ms},
                                        {Phase::gap, false, 225ms}});
}

StageView live(AthleteZone zone) {
    StageView view;
    view.screen = StageScreen::live;
    view.athlete = "Heron";
    view.rep = 7;
    view.reps = 10;
    view.zone = zone;
    view.attacks.push_back({7, start, single(150, 220, 180, 160, 250)});
    return view;
}

std::vector<StripRep> strip() {
    return {{1, single(130, 200, 180, 150, 240), Verdict::clash, 218ms, 503ms},
            {2, single(151, 218, 196, 157, 222), Verdict::on_time, 325ms, 583ms},
            {3, feint(190), Verdict::took_the_feint, 117ms, 382ms},
            {4, single(140, 201, 195, 144, 192), Verdict::on_time, 425ms, 702ms},
            {5, rebound(), Verdict::on_time, 745ms, 1012ms},
            {6, single(155, 215, 170, 152, 263), Verdict::on_time, 284ms, 612ms},
            {7, feint(262), Verdict::held, std::nullopt, std::nullopt},
            {8, single(145, 240, 185, 160, 245), Verdict::clash, 204ms, 462ms},
            {9, single(134, 250, 185, 130, 252), Verdict::on_time, 426ms, 685ms},
            {10, single(131, 195, 173, 161, 237), Verdict::missed, std::nullopt, std::nullopt}};
}

/// Entries with a favourite beat near .85 s, cut by ten attacks, as a reader would have announced them.
TempoStrip tempo() {
    TempoStrip strip;
    strip.length = 45s;
    Random random(29);
    Duration next_attack = 2600ms;
    Duration now{};
    while (now < strip.length - 2s) {
        const double seconds = random.chance(0.2) ? random.uniform(0.7, 1.6) : random.lognormal(0.86, 0.08);
        const auto interval = Duration{std::llround(seconds * 1e9)};
        TempoEntry entry{now + interval, interval, false, std::nullopt, false};
        if (now + interval > next_attack) {
            entry = {next_attack, next_attack - now, true, std::nullopt, false};
            strip.attacks.push_back(next_attack);
            now = next_attack + 1900ms;
            next_attack = now + 3s + Duration{std::llround(random.exponential(1e9))};
            if (entry.interval >= 200ms) strip.entries.push_back(entry);
            continue;
        }
        if (strip.entries.size() > 4) {
            entry.announced = TempoWindow{710ms, 1010ms};
            entry.caught = interval >= 710ms && interval < 1010ms;
            ++strip.windows;
            strip.caught += entry.caught ? 1 : 0;
        }
        strip.entries.push_back(entry);
        now += interval;
    }
    strip.chance = static_cast<int>(std::lround(strip.windows * 0.24));
    strip.sign = Sign::tell;
    return strip;
}

StageView nudge() {
    StageView view = live(AthleteZone::between);
    view.attacks.clear();
    view.rep = 3;
    view.nudge = StageNudge{"Same beat", Sign::hunch, {0ms, 730ms, 1590ms, 2410ms, 3270ms, 4120ms}, start};
    return view;
}

StageView verdict() {
    StageView view = live(AthleteZone::inside_near);
    view.verdict = StageVerdict{Verdict::on_time, Moment::drop, Phase::drop, VoidReason::none, false, start + 620ms};
    return view;
}

StageView rest() {
    StageView view;
    view.screen = StageScreen::rest;
    view.athlete = "Heron";
    view.saved = true;
    view.rest = {2,
                 4,
                 "Let the foot pass the line.",
                 "2 clashes, both just above it.",
                 strip(),
                 tempo(),
                 "Curlew",
                 "Lapwing",
                 start,
                 start + 60s};
    return view;
}

StageView turns() {
    StageView view;
    view.saved = true;
    view.turns = {"Saltmarsh Hall",
                  "Curlew",
                  "drop and gap, back leg, closed stance",
                  "Strike a pad to start.",
                  {{"Lapwing", 1, ""}, {"Dunlin", 2, ""}, {"Plover", 3, "gates one hole up"}, {"Avocet", 4, ""}},
                  41,
                  60,
                  {{"warm-up", 12, 1},
                   {"round 1", 20, 1},
                   {"round 2", 20, 1},
                   {"round 3", 20, 0.12},
                   {"pairs", 10, 0},
                   {"close", 8, 0}},
                  35};
    return view;
}

Expected<void> write_strip(const std::string& path) {
    const Palette& colours = palette(Theme::paper);
    return write_picture(path, 1100, 600, [&](cairo_t* cairo) {
        fill_box(cairo, 0, 0, 1100, 600, colours.ground);
        PhaseStripLayout layout;
        layout.left = 70;
        layout.top = 66;
        layout.width = 680;
        draw_phase_legend(cairo, 70, 44, 10, Theme::paper);
        draw_phase_strip(cairo, strip(), layout, Theme::paper);
        TempoStripLayout rhythm;
        rhythm.left = 70;
        rhythm.top = 452;
        rhythm.width = 680;
        rhythm.answer_left = 774;
        draw_tempo_strip(cairo, tempo(), rhythm, Theme::paper);
    });
}

struct Picture {
    const char* name;
    StageView view;
    Duration after;
    Theme theme = Theme::dark_hall;
};

}  // namespace

Expected<std::vector<std::string>> write_pictures(const std::string& directory) {
    const Picture pictures[] = {{"stage-lift.png", live(AthleteZone::between), 75ms},
                                {"stage-up.png", live(AthleteZone::between), 260ms},
                                {"stage-drop.png", live(AthleteZone::inside_near), 640ms},
                                {"stage-gap.png", live(AthleteZone::inside_near), 800ms},
                                {"stage-verdict.png", verdict(), 1000ms},
                                {"stage-nudge.png", nudge(), 500ms},
                                {"stage-rest.png", rest(), 18s},
                                {"stage-rest-bright.png", rest(), 18s, Theme::bright_hall},
                                {"stage-turns.png", turns(), 0s}};
    std::vector<std::string> names;
    for (const Picture& picture : pictures) {
        const auto written =
            write_stage_png(directory + "/" + picture.name, picture.view, start + picture.after, {}, picture.theme);
        if (!written) return tl::make_unexpected(written.error());
        names.emplace_back(picture.name);
    }
    for (const char* name : {"strips.png", "strips.svg"}) {
        const auto written = write_strip(directory + "/" + name);
        if (!written) return tl::make_unexpected(written.error());
        names.emplace_back(name);
    }
    return names;
}

}  // namespace breakstep
