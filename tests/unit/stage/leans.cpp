// An opponent that leans: seen, told from nothing else, and no teller of what follows.
#include <doctest/doctest.h>

#include "devices/stage/speech.hpp"
#include "report/drawing/figure.hpp"
#include "report/drawing/shapes.hpp"
#include "unit/stage/pixels.hpp"

using namespace breakstep;
using namespace pixels;

namespace {

StageView leaning(AttackTimeline attack, Duration lean) {
    StageView view = live({{7, start, std::move(attack), lean}});
    view.leans = true;
    return view;
}

constexpr StageSize size{640, 360};

}  // namespace

TEST_CASE("a lean is seen before toe-off, and looks the same whatever follows it and however long it lasts") {
    const StageView kick = leaning(single(), 400ms), fake = leaning(feint(240ms, 140ms), 400ms),
                    nothing = leaning({}, 400ms), sooner = leaning(single(), 300ms);
    StageView still = live({});
    still.leans = true;
    for (const Theme theme : {Theme::dark_hall, Theme::bright_hall}) {
        CHECK(stage(kick, start - 401ms, size, theme) == stage(still, start - 401ms, size, theme));
        CHECK(stage(kick, start - 250ms, size, theme) != stage(still, start - 250ms, size, theme));
        for (Duration at = -400ms; at < 0ms; at += 20ms) {
            REQUIRE(stage(fake, start + at, size, theme) == stage(kick, start + at, size, theme));
            REQUIRE(stage(nothing, start + at, size, theme) == stage(kick, start + at, size, theme));
        }
        for (Duration since = 0ms; since < 300ms; since += 20ms)
            REQUIRE(stage(sooner, start - 300ms + since, size, theme) ==
                    stage(kick, start - 400ms + since, size, theme));
    }
}

TEST_CASE("a lie stands up again, and then everything is as it was") {
    const StageView nothing = leaning({}, 400ms);
    StageView still = live({});
    still.leans = true;
    CHECK(stage(nothing, start + 251ms, size) == stage(still, start + 251ms, size));
    CHECK(lean_at(nothing, start - 1ms) == doctest::Approx(1));
    CHECK(lean_at(nothing, start + 125ms) == doctest::Approx(0.5));
    CHECK(stage_changes(nothing, start - 450ms, start - 350ms));
}

TEST_CASE("trunk and standing leg are seen well through all of a drill with leans, in guard too") {
    for (const Theme theme : {Theme::dark_hall, Theme::bright_hall}) {
        const Palette& colours = palette(theme);
        CHECK(contrast(trunk_colour(colours, true), colours.ground) >= 3);
        CHECK(contrast(trunk_colour(colours, false), colours.ground) < 3);
    }
    // The colour does not change with the lean: only the place does.
    StageView guard = live({});
    guard.leans = true;
    const Picture still = stage(guard, start, size), leant = stage(leaning(single(), 400ms), start - 10ms, size);
    const Colour trunk = trunk_colour(palette(Theme::dark_hall), true);
    const auto count = [&](const Picture& picture) {
        int pixels = 0;
        for (std::size_t i = 0; i < picture.pixels.size(); ++i) pixels += picture.at(i) == trunk ? 1 : 0;
        return pixels;
    };
    CHECK(count(still) > 500);
    CHECK(count(leant) > 500);
}

TEST_CASE("a word that is on the screen leaves it as the opponent leans") {
    StageView view = leaning(single(), 400ms);
    view.verdict = StageVerdict{Verdict::on_time, Moment::drop, Phase::drop, VoidReason::none, false, start - 700ms};
    CHECK(speech_at(view, start - 410ms).what == Speech::What::verdict);
    CHECK(speech_at(view, start - 399ms).what == Speech::What::nothing);
}

TEST_CASE("the flash of a film stands for a fifth of a second over whatever is shown") {
    StageView view = live({});
    const Picture before = stage(view, start, size);
    view.flash = start + 1s;
    CHECK(stage(view, start + 999ms, size) == before);
    CHECK(stage(view, start + 1s, size) != before);
    CHECK(stage(view, start + 1200ms, size) == before);
    CHECK(stage_changes(view, start + 990ms, start + 1s));
    CHECK(stage_changes(view, start + 1190ms, start + 1200ms));
    CHECK_FALSE(stage_changes(view, start + 1010ms, start + 1100ms));
}

TEST_CASE("a task is watched once at a third of its speed, and stands still after it") {
    StageView view;
    view.screen = StageScreen::task;
    view.task.attack = single();
    view.task.moments = moment_bit(Moment::drop);
    const Picture task = stage(view, start, size);
    view.task.watch_since = start;
    CHECK(stage(view, start, size) == task);
    const HostTime begins = start + before_watching;
    CHECK(*watched_at(view.task, begins + 300ms) == 100ms);
    CHECK(stage(view, begins + 300ms, size) != task);
    CHECK(stage_changes(view, begins, begins + 20ms));
    const HostTime over = begins + 3 * (single().end() + 250ms);
    CHECK_FALSE(watched_at(view.task, over).has_value());
    CHECK(stage(view, over, size) == task);
    CHECK_FALSE(stage_changes(view, over + 1ms, over + 5s));
}
