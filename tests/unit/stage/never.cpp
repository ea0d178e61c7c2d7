// What must never happen on the stage, tried on real pixels.
#include <doctest/doctest.h>

#include <cmath>
#include <set>
#include <string>

#include "core/random.hpp"
#include "devices/stage/screens.hpp"
#include "report/drawing/shapes.hpp"
#include "report/drawing/verdict_shape.hpp"
#include "unit/stage/a_set.hpp"
#include "unit/stage/pixels.hpp"

using namespace breakstep;
using namespace pixels;

namespace {

/// Where a verdict's shape and word lie, found in the pixels: the word begins after the widest hole between columns.
struct Said {
    int left = 0;
    int right = 0;
    int first_letter_height = 0;
};

Said said_in(const Picture& picture, Colour wanted, double unit) {
    const double top_of_stage = (picture.height - 72 * unit) / 2;
    const int from = static_cast<int>(top_of_stage + 10 * unit);
    const int to = static_cast<int>(top_of_stage + 24.5 * unit);  // the second line lies lower
    const auto column = [&](int x) {
        std::pair<int, int> extent{to, from};
        for (int y = from; y < to; ++y)
            if (picture.at(static_cast<std::size_t>(y * picture.width + x)) == wanted)
                extent = {std::min(extent.first, y), std::max(extent.second, y)};
        return extent;
    };
    Said said{picture.width, 0, 0};
    int last = -1;
    int widest = 0;
    int word_begin = 0;
    for (int x = 0; x < picture.width; ++x) {
        if (column(x).first > column(x).second) continue;
        if (last >= 0 && x - last > widest) {
            widest = x - last;
            word_begin = x;
        }
        last = x;
        said.left = std::min(said.left, x);
        said.right = x;
    }
    int top = to;
    int bottom = from;
    for (int x = word_begin; x < picture.width && column(x).first <= column(x).second; ++x) {
        top = std::min(top, column(x).first);
        bottom = std::max(bottom, column(x).second);
    }
    said.first_letter_height = bottom - top + 1;
    return said;
}

}  // namespace

TEST_CASE("the screen as a whole never changes its brightness at once") {
    for (const Theme theme : {Theme::dark_hall, Theme::bright_hall}) {
        const Set set = a_set(12);
        double before = -1;
        for (HostTime now = start; now < set.attacks.back().toe_off + 2s; now += 16'666'667ns) {
            const Picture picture = stage(view_at(set, now), now, {160, 90}, theme);
            double mean = 0;
            for (std::size_t i = 0; i < picture.pixels.size(); ++i) mean += relative_luminance(picture.at(i));
            mean /= static_cast<double>(picture.pixels.size());
            if (before >= 0) REQUIRE(std::abs(mean - before) < 0.06);
            before = mean;
        }
    }
}

TEST_CASE("the picture shows nothing of what is still to come") {
    StageView planned = live({{7, start, single()}});
    StageView unplanned = live({});
    CHECK(stage(planned, start - 1ns) == stage(unplanned, start - 1ns));
    CHECK(stage(planned, start + 17ms) != stage(unplanned, start + 17ms));

    StageView carried = planned;
    carried.attacks[0].timeline.kind = AttackKind::carry;
    carried.attacks[0].timeline.phases[1] = {Phase::up, true, 900ms};
    StageView followed = live({{7, start, single()}, {8, start + 2s, single()}});
    StageView other_end = planned;
    other_end.attacks[0].timeline.phases[3].length = 90ms;
    other_end.attacks[0].timeline.phases[4].length = 600ms;
    for (Duration at = 0ms; at < 140ms; at += 10ms) REQUIRE(stage(carried, start + at) == stage(planned, start + at));
    for (Duration at = 0ms; at < 2s; at += 50ms) REQUIRE(stage(followed, start + at) == stage(planned, start + at));
    for (Duration at = 0ms; at < 540ms; at += 10ms) REQUIRE(stage(other_end, start + at) == stage(planned, start + at));
    // How long a gap will last is not to be seen in it.
    StageView longer_gap = planned;
    longer_gap.attacks[0].timeline.phases[4].length = 600ms;
    for (Duration at = 700ms; at < 950ms; at += 10ms)
        REQUIRE(stage(longer_gap, start + at) == stage(planned, start + at));
}

TEST_CASE("a feint is pixel for pixel its lift before it turns") {
    const StageView real = live({{7, start, single()}});
    const StageView fake = live({{7, start, feint(240ms, 140ms)}});
    for (const Theme theme : {Theme::dark_hall, Theme::bright_hall}) {
        for (Duration at = -20ms; at <= 84ms; at += 4ms)
            REQUIRE(stage(fake, start + at, {640, 360}, theme) == stage(real, start + at, {640, 360}, theme));
        CHECK(stage(fake, start + 100ms, {640, 360}, theme) != stage(real, start + 100ms, {640, 360}, theme));
    }
}

TEST_CASE("the lead side mirrors the room, and the words do not turn round") {
    StageView right = live({{7, start, single()}});
    right.athlete.clear();
    right.rep = 0;
    StageView left = right;
    left.lead = Side::left;
    const StageSize size{640, 360};
    const Picture one = stage(right, start + 300ms, size);
    const Picture other = stage(left, start + 300ms, size);
    // Rows between the hip line's word and the floor hold the figure alone.
    const int from = size.height * 34 / 72;
    const int to = size.height * 60 / 72;
    int differ = 0;
    for (int y = from; y < to; ++y)
        for (int x = 0; x < size.width; ++x) {
            const Colour here = one.at(static_cast<std::size_t>(y * size.width + x));
            const Colour there = other.at(static_cast<std::size_t>(y * size.width + size.width - 1 - x));
            differ += std::abs(here.green - there.green) > 24 ? 1 : 0;
        }
    CHECK(differ == 0);
    CHECK(one != other);
}

TEST_CASE("every verdict's shape is told from every other without colour, on the stage and in a strip") {
    const Palette& colours = palette(Theme::dark_hall);
    for (const auto& [size, simple] : {std::pair{96, false}, {14, true}}) {
        std::vector<Picture> shapes;
        for (int v = 0; v <= static_cast<int>(Verdict::void_rep); ++v) {
            const int box = size * 3 / 2;
            Palette grey = colours;
            for (Colour* colour : {&grey.good, &grey.bad, &grey.held, &grey.quiet}) *colour = Colour{200, 200, 200};
            shapes.push_back(drawn(box, box, [&, scale = size, flat = simple](cairo_t* cairo) {
                draw_verdict_shape(cairo, static_cast<Verdict>(v), {box / 2.0, box / 2.0}, scale, grey, flat);
            }));
        }
        for (std::size_t a = 0; a < shapes.size(); ++a) {
            for (std::size_t b = a + 1; b < shapes.size(); ++b) {
                double differing = 0;
                for (std::size_t i = 0; i < shapes[a].pixels.size(); ++i)
                    differing += std::abs(shapes[a].at(i).green - shapes[b].at(i).green) / 200.0;
                CAPTURE(word(static_cast<Verdict>(a)));
                CAPTURE(word(static_cast<Verdict>(b)));
                CHECK(differing > 0.10 * size * size);  // a tenth of the shape's square
            }
        }
    }
}

TEST_CASE("a verdict's capitals are 12 % of the height or more, and its words stay on the screen") {
    const Palette& colours = palette(Theme::dark_hall);
    for (const StageSize size : {StageSize{1280, 720}, {1024, 768}, {1720, 720}}) {
        const double unit = std::min(size.height / 72.0, size.width / 128.0);
        for (int v = 0; v <= static_cast<int>(Verdict::void_rep); ++v) {
            StageView view = live({});
            view.verdict =
                StageVerdict{static_cast<Verdict>(v), Moment::lift, Phase::drop, VoidReason::none, false, start};
            view.athlete.clear();
            view.rep = 0;
            view.zone = AthleteZone::unknown;
            const Picture picture = stage(view, start, size);
            const Said said = said_in(picture, colour_of(static_cast<Verdict>(v), colours), unit);
            CAPTURE(word(static_cast<Verdict>(v)));
            CAPTURE(size.width);
            CHECK(said.left >= 6 * unit - 1);
            CHECK(said.right <= size.width - 6 * unit + 1);
            CHECK(said.first_letter_height >= 0.12 * 72 * unit - 1);
            CHECK(said.first_letter_height <= 0.15 * 72 * unit);
        }
    }
}

TEST_CASE("a still picture is known to be still, a moving one to move") {
    StageView view = live({{7, start, single()}});
    CHECK_FALSE(stage_changes(view, start - 2s, start - 1s));
    CHECK(stage_changes(view, start - 1s, start));
    CHECK(stage_changes(view, start + 100ms, start + 117ms));
    CHECK(stage_changes(view, start + 1190ms, start + 1300ms));
    CHECK_FALSE(stage_changes(view, start + 1200ms, start + 1300ms));
    view.verdict = StageVerdict{Verdict::on_time, Moment::drop, Phase::drop, VoidReason::none, false, start + 2s};
    CHECK(stage_changes(view, start + 1990ms, start + 2s));
    CHECK_FALSE(stage_changes(view, start + 2100ms, start + 2800ms));
    CHECK(stage_changes(view, start + 2900ms, start + 2920ms));
    StageView rest;
    rest.screen = StageScreen::rest;
    rest.rest.begin = start;
    rest.rest.end = start + 60s;
    CHECK(seconds_left(rest.rest, start) == 60);
    CHECK(seconds_left(rest.rest, start + 1ns) == 60);
    CHECK(seconds_left(rest.rest, start + 1s) == 59);
    CHECK(seconds_left(rest.rest, start + 61s) == 0);
    CHECK(seconds_left(rest.rest, start - 5s) == 60);
    CHECK_FALSE(stage_changes(rest, start + 1100ms, start + 1900ms));
    CHECK(stage_changes(rest, start + 1900ms, start + 2s));
    // What is said to be still is the same to the pixel.
    CHECK(stage(rest, start + 1100ms) == stage(rest, start + 1900ms));
    CHECK(stage(view, start + 2100ms) == stage(view, start + 2800ms));
}
