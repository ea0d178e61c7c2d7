// The colours keep what they promise. Contrast and luminance: WCAG 2.2; the figures per colour are our own choice.
#include "report/drawing/palette.hpp"

#include <doctest/doctest.h>

#include <array>
#include <cmath>
#include <vector>

using namespace breakstep;
using doctest::Approx;

namespace {

std::vector<Colour> all(const Palette& p) {
    return {p.ground, p.raised, p.text,  p.quiet, p.figure, p.hip_line, p.dim,  p.lift,
            p.gap,    p.drop,   p.clash, p.good,  p.bad,    p.held,     p.nudge};
}

constexpr std::array themes{Theme::dark_hall, Theme::bright_hall, Theme::paper};

/// CIE lightness from relative luminance (CIE 1976; from memory).
double lightness(Colour colour) {
    const double y = relative_luminance(colour);
    return y > 0.008856 ? 116 * std::cbrt(y) - 16 : 903.3 * y;
}

}  // namespace

TEST_CASE("luminance and contrast are WCAG's") {
    CHECK(relative_luminance({255, 255, 255}) == Approx(1));
    CHECK(relative_luminance({0, 0, 0}) == Approx(0));
    CHECK(contrast({255, 255, 255}, {0, 0, 0}) == Approx(21));  // WCAG 2.2: from 1 to 21
    CHECK(contrast({0x76, 0x76, 0x76}, {255, 255, 255}) ==
          Approx(4.54).epsilon(0.002));  // a well-known pair; from memory
}

TEST_CASE("every colour has the contrast against the ground that it was chosen for") {
    struct Chosen {
        Colour Palette::*colour;
        double dark;
        double bright;
    };
    const Chosen chosen[] = {{&Palette::text, 15.4, 15.1},   {&Palette::quiet, 7.3, 5.8}, {&Palette::figure, 11.0, 7.4},
                             {&Palette::hip_line, 5.1, 3.6}, {&Palette::dim, 1.7, 1.4},   {&Palette::lift, 13.1, 3.4},
                             {&Palette::gap, 8.4, 4.8},      {&Palette::drop, 5.6, 10.0}, {&Palette::clash, 4.1, 6.5},
                             {&Palette::good, 13.9, 8.4},    {&Palette::bad, 6.8, 4.7},   {&Palette::held, 11.6, 5.0},
                             {&Palette::nudge, 6.6, 7.4}};
    const Palette& dark = palette(Theme::dark_hall);
    const Palette& bright = palette(Theme::bright_hall);
    for (const Chosen& one : chosen) {
        CHECK(std::abs(contrast(dark.*one.colour, dark.ground) - one.dark) <= 0.051);
        CHECK(std::abs(contrast(bright.*one.colour, bright.ground) - one.bright) <= 0.051);
    }
}

TEST_CASE("words can be read, and all graphics stay at 3 to 1 or more on raised tiles too") {
    for (const Theme theme : themes) {
        const Palette& p = palette(theme);
        for (const Colour ground : {p.ground, p.raised}) {
            CHECK(contrast(p.text, ground) >= 4.5);  // WCAG 2.2, 1.4.3
            CHECK(contrast(p.quiet, ground) >= 4.5);
            for (const Colour colour : {p.lift, p.gap, p.drop, p.clash, p.good, p.bad, p.held, p.nudge, p.hip_line})
                CHECK(contrast(colour, ground) >= 3.0);  // WCAG 2.2, 1.4.11
        }
    }
}

TEST_CASE("no colour is a saturated red") {
    // WCAG 2.2, 2.3.1: saturated red is R / (R + G + B) >= 0.8, linear.
    const auto linear = [](std::uint8_t channel) {
        const double value = channel / 255.0;
        return value <= 0.04045 ? value / 12.92 : std::pow((value + 0.055) / 1.055, 2.4);
    };
    for (const Theme theme : themes)
        for (const Colour colour : all(palette(theme)))
            CHECK(linear(colour.red) <= 0.799 * (linear(colour.red) + linear(colour.green) + linear(colour.blue)));
}

TEST_CASE("an open phase tints its area by .085 of relative luminance at most, and is still to be seen") {
    for (const Theme theme : themes) {
        const Palette& p = palette(theme);
        for (const Moment moment : {Moment::lift, Moment::gap, Moment::drop}) {
            const Colour tinted = tint(p.ground, colour_of(moment, p));
            CHECK(std::abs(relative_luminance(tinted) - relative_luminance(p.ground)) <= 0.085);
            CHECK(tinted != p.ground);
        }
    }
}

TEST_CASE("in grey, lift is the lightest moment, drop darker than gap, all of them and the clash zone apart") {
    for (const Theme theme : themes) {
        const Palette& p = palette(theme);
        CHECK(lightness(p.lift) > lightness(p.gap));
        CHECK(lightness(p.gap) > lightness(p.drop));
        const Colour colours[] = {p.lift, p.gap, p.drop, p.clash};
        for (int one = 0; one < 4; ++one)
            for (int other = one + 1; other < 4; ++other)
                CHECK(std::abs(lightness(colours[one]) - lightness(colours[other])) >= 8);
    }
}

TEST_CASE("each verdict and phase has its colour") {
    const Palette& p = palette(Theme::dark_hall);
    CHECK(colour_of(Verdict::on_time, p) == p.good);
    CHECK(colour_of(Verdict::around, p) == p.good);
    CHECK(colour_of(Verdict::held, p) == p.held);
    CHECK(colour_of(Verdict::void_rep, p) == p.quiet);
    for (const Verdict bad : {Verdict::clash, Verdict::early, Verdict::late, Verdict::missed, Verdict::wrong_pad,
                              Verdict::no_step, Verdict::took_the_feint, Verdict::got_hit, Verdict::gave_ground})
        CHECK(colour_of(bad, p) == p.bad);
    CHECK(colour_of(Phase::pull_back, p) == p.clash);
    CHECK(colour_of(Phase::gap, p) == p.gap);
    CHECK(blend({0, 0, 0}, {200, 100, 50}, 0.5) == Colour{100, 50, 25});
}
