#include "devices/stage/pictures.hpp"

#include <utility>

#include "devices/stage/draw_stage.hpp"
#include "report/drawing/picture_file.hpp"
#include "report/drawing/shapes.hpp"

namespace breakstep {
namespace {

constexpr HostTime start = pictures_begin;

AttackTimeline single(int lift, int up, int pull_back, int drop, int gap) {
    return {AttackKind::single,
            {{Phase::lift, false, lift * 1ms},
             {Phase::up, false, up * 1ms},
             {Phase::pull_back, false, pull_back * 1ms},
             {Phase::drop, false, drop * 1ms},
             {Phase::gap, false, gap * 1ms}},
            {}};
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

StageView lured(bool follows) {
    StageView view = live(AthleteZone::between);
    view.attacks.clear();
    StageLure lure;
    for (int i = 0; i < (follows ? 6 : 4); ++i) lure.yours.push_back(i * 810ms);
    for (const Duration off : {460ms, 380ms, 240ms, 80ms, 40ms, 20ms})
        if (static_cast<int>(lure.its.size()) < (follows ? 6 : 3))
            lure.its.push_back(static_cast<int>(lure.its.size()) * 810ms + off);
    lure.follows = follows;
    view.lure = lure;
    view.rep = 3;
    view.reps = 8;
    return view;
}

StageView leaning() {
    StageView view = live(AthleteZone::between);
    view.leans = true;
    view.attacks.front().lean = 400ms;
    return view;
}

StageView nudged(StageNudge nudge) {
    StageView view = live(AthleteZone::between);
    view.attacks.clear();
    view.rep = 3;
    view.nudge = std::move(nudge);
    view.nudge->since = start;
    return view;
}

StageView verdict() {
    StageView view = live(AthleteZone::inside_near);
    view.verdict = StageVerdict{Verdict::on_time, Moment::drop, Phase::drop, VoidReason::none, false, start + 620ms};
    return view;
}

StageView resting(const StageRest& rest) {
    StageView view;
    view.screen = StageScreen::rest;
    view.athlete = "Heron";
    view.saved = true;
    view.rest = rest;
    view.rest.begin = start;
    view.rest.end = start + 60s;
    return view;
}

Expected<void> write_strip(const std::string& path, const StageRest& rest) {
    const Palette& colours = palette(Theme::paper);
    return write_picture(path, 1100, 640, [&](cairo_t* cairo) {
        fill_box(cairo, 0, 0, 1100, 640, colours.ground);
        PhaseStripLayout layout;
        layout.left = 70;
        layout.top = 66;
        layout.width = 680;
        layout.to = strip_end_for(rest.reps);
        draw_phase_legend(cairo, 70, 44, 10, Theme::paper);
        draw_phase_strip(cairo, rest.reps, layout, Theme::paper);
        if (!rest.rhythm) return;
        RhythmLaneLayout rhythm;
        rhythm.left = 150;
        rhythm.top = 410;
        rhythm.width = 560;
        rhythm.answer_left = 760;
        rhythm.answer_right = 1060;
        draw_rhythm_lane(cairo, *rest.rhythm, rhythm, Theme::paper);
    });
}

}  // namespace

Expected<std::vector<std::string>> write_pictures(const std::string& directory, const StageRest& rest,
                                                  const StageNudge& nudge, std::vector<StagePicture> more,
                                                  StageSize size) {
    std::vector<StagePicture> pictures{{"stage-lift", live(AthleteZone::between), 75ms},
                                       {"stage-up", live(AthleteZone::between), 260ms},
                                       {"stage-drop", live(AthleteZone::inside_near), 640ms},
                                       {"stage-gap", live(AthleteZone::inside_near), 800ms},
                                       {"stage-verdict", verdict(), 1000ms},
                                       {"stage-nudge", nudged(nudge), 500ms},
                                       {"stage-lean", leaning(), -100ms},
                                       {"stage-lure-set", lured(false), 0ms},
                                       {"stage-lure", lured(true), 0ms},
                                       {"stage-rest", resting(rest), 18s}};
    for (StagePicture& each : more) pictures.push_back(std::move(each));
    std::vector<std::string> names;
    for (const StagePicture& picture : pictures)
        for (const Theme theme : {Theme::dark_hall, Theme::bright_hall}) {
            const std::string name = picture.name + (theme == Theme::dark_hall ? ".png" : "-bright.png");
            const auto written =
                write_stage_png(directory + "/" + name, picture.view, start + picture.after, size, theme);
            if (!written) return tl::make_unexpected(written.error());
            names.push_back(name);
        }
    for (const char* name : {"strips.png", "strips.svg"}) {
        const auto written = write_strip(directory + "/" + name, rest);
        if (!written) return tl::make_unexpected(written.error());
        names.emplace_back(name);
    }
    return names;
}

}  // namespace breakstep
