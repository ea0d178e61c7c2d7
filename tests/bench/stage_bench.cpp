// What a second of the stage costs: sixty frames of 1280 x 720 drawn in software, through a set as it goes. The counter
// `core_percent` is the share of one core that this is; our goal is 12 on the machine of a club.
#include <benchmark/benchmark.h>
#include <cairo.h>

#include <ctime>

#include "devices/stage/draw_stage.hpp"

using namespace breakstep;

namespace {

constexpr HostTime start{Duration{50'000'000'000}};
constexpr Duration frame{16'666'667};

StageView playing() {
    StageView view;
    view.screen = StageScreen::live;
    view.athlete = "Heron";
    view.rep = 7;
    view.reps = 10;
    view.zone = AthleteZone::between;
    view.leans = true;
    const AttackTimeline attack{AttackKind::single,
                                {{Phase::lift, false, 140ms},
                                 {Phase::up, false, 220ms},
                                 {Phase::pull_back, false, 180ms},
                                 {Phase::drop, false, 160ms},
                                 {Phase::gap, false, 250ms}},
                                {}};
    // An attack every 2.7 s, as a drill has them.
    view.attacks.push_back({7, start + 1s, attack, 400ms});
    view.verdict = StageVerdict{Verdict::on_time, Moment::drop, Phase::drop, VoidReason::none, false, start + 1700ms};
    return view;
}

StageView pairs() {
    StageView view;
    view.screen = StageScreen::pairs;
    view.pairs.words = "Any time in 3 s: attack";
    view.pairs.cues = 8;
    view.pairs.cue = 2;
    view.pairs.begin = start;
    view.pairs.end = start + 3s;
    for (int i = 1; i <= 10; ++i) view.pairs.tiles.push_back({i, static_cast<AttackKind>(i % 6), false, "", ""});
    return view;
}

double core_seconds() {
    timespec used{};
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &used);
    return static_cast<double>(used.tv_sec) + static_cast<double>(used.tv_nsec) * 1e-9;
}

/// As the window does it: a frame is drawn where something changed since the one before.
void watch(benchmark::State& state, const StageView& view, Duration length) {
    cairo_surface_t* surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, 1280, 720);
    cairo_t* cairo = cairo_create(surface);
    double used = 0, watched = 0;
    int drawn = 0;
    for ([[maybe_unused]] const auto each : state) {
        const double before = core_seconds();
        HostTime last = start - frame;
        for (HostTime at = start; at < start + length; at += frame) {
            if (!stage_changes(view, last, at)) continue;
            draw_stage(cairo, view, at, {1280, 720}, Theme::dark_hall);
            last = at;
            ++drawn;
        }
        used += core_seconds() - before;
        watched += static_cast<double>(length.count()) * 1e-9;
    }
    cairo_destroy(cairo);
    cairo_surface_destroy(surface);
    state.counters["core_percent"] = 100 * used / watched;
    state.counters["ms_a_frame"] = drawn > 0 ? 1000 * used / drawn : 0;
    state.counters["frames_a_second"] = drawn / watched;
}

void stage_of_a_set(benchmark::State& state) { watch(state, playing(), 2700ms); }
BENCHMARK(stage_of_a_set)->Unit(benchmark::kMillisecond);

/// Every frame drawn, as while a limb moves without a pause.
void stage_without_a_pause(benchmark::State& state) {
    StageView view = playing();
    view.verdict.reset();
    AttackTimeline& attack = view.attacks.front().timeline;
    for (AttackPhase& phase : attack.phases) phase.length *= 3;
    view.attacks.front().toe_off = start;
    watch(state, view, 2800ms);
}
BENCHMARK(stage_without_a_pause)->Unit(benchmark::kMillisecond);

void stage_of_a_class(benchmark::State& state) { watch(state, pairs(), 3s); }
BENCHMARK(stage_of_a_class)->Unit(benchmark::kMillisecond);

}  // namespace
