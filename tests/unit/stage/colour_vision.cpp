// What stands on the stage, as people see it who lack one kind of cone: words can be read, moments and verdicts told
// apart. Simulation: Machado, Oliveira and Fernandes 2009, severity 1, in linear RGB. Difference: CIEDE2000, checked
// against pairs of Sharma, Wu and Dalal 2005. The least differences asked for are our own choice.
#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <string>

#include "report/drawing/text.hpp"
#include "unit/stage/every_view.hpp"

using namespace breakstep;
using namespace pixels;
using doctest::Approx;

namespace {

using Three = std::array<double, 3>;
using Cones = std::array<Three, 3>;

struct Eye {
    std::string name;
    Cones cones;
};

const Eye eyes[] = {
    {"all cones", {{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}}},
    {"protanopia",
     {{{0.152286, 1.052583, -0.204868}, {0.114503, 0.786281, 0.099216}, {-0.003882, -0.048116, 1.051998}}}},
    {"deuteranopia",
     {{{0.367322, 0.860646, -0.227968}, {0.280085, 0.672501, 0.047413}, {-0.011820, 0.042940, 0.968881}}}},
    {"tritanopia",
     {{{1.255528, -0.076749, -0.178779}, {-0.078411, 0.930809, 0.147602}, {0.004733, 0.691367, 0.303900}}}}};

/// Linear RGB, 0 to 1, as that eye sees the colour (IEC 61966-2-1).
Three seen_by(const Eye& eye, Colour colour) {
    const auto linear = [](std::uint8_t channel) {
        const double value = channel / 255.0;
        return value <= 0.04045 ? value / 12.92 : std::pow((value + 0.055) / 1.055, 2.4);
    };
    const Three rgb{linear(colour.red), linear(colour.green), linear(colour.blue)};
    Three seen{};
    for (std::size_t row = 0; row < 3; ++row) {
        for (std::size_t column = 0; column < 3; ++column) seen[row] += eye.cones[row][column] * rgb[column];
        seen[row] = std::clamp(seen[row], 0.0, 1.0);
    }
    return seen;
}

double luminance(const Three& rgb) { return 0.2126 * rgb[0] + 0.7152 * rgb[1] + 0.0722 * rgb[2]; }

double contrast_of(const Three& one, const Three& other) {
    const auto [darker, lighter] = std::minmax({luminance(one), luminance(other)});
    return (lighter + 0.05) / (darker + 0.05);
}

/// CIE 1976 L*a*b*, white D65.
Three lab(const Three& rgb) {
    const Three xyz{(0.4124 * rgb[0] + 0.3576 * rgb[1] + 0.1805 * rgb[2]) / 0.95047,
                    0.2126 * rgb[0] + 0.7152 * rgb[1] + 0.0722 * rgb[2],
                    (0.0193 * rgb[0] + 0.1192 * rgb[1] + 0.9505 * rgb[2]) / 1.08883};
    const auto root = [](double t) { return t > 216.0 / 24389 ? std::cbrt(t) : (24389.0 / 27 * t + 16) / 116; };
    return {116 * root(xyz[1]) - 16, 500 * (root(xyz[0]) - root(xyz[1])), 200 * (root(xyz[1]) - root(xyz[2]))};
}

double ciede2000(const Three& one, const Three& other) {
    constexpr double degree = 3.14159265358979323846 / 180;
    const auto hue = [](double a, double b) {
        if (a == 0 && b == 0) return 0.0;
        const double angle = std::atan2(b, a) / degree;
        return angle < 0 ? angle + 360 : angle;
    };
    const double mean_chroma = (std::hypot(one[1], one[2]) + std::hypot(other[1], other[2])) / 2;
    const auto share = [](double chroma) {
        return std::sqrt(std::pow(chroma, 7) / (std::pow(chroma, 7) + 6103515625.0));
    };
    const double g = 0.5 * (1 - share(mean_chroma));
    const double a1 = (1 + g) * one[1], a2 = (1 + g) * other[1];
    const double c1 = std::hypot(a1, one[2]), c2 = std::hypot(a2, other[2]);
    const double h1 = hue(a1, one[2]), h2 = hue(a2, other[2]);
    double turn = 0, middle = h1 + h2;
    if (c1 * c2 != 0) {
        turn = h2 - h1;
        if (turn > 180) turn -= 360;
        if (turn < -180) turn += 360;
        middle = std::abs(h1 - h2) <= 180 ? (h1 + h2) / 2 : (h1 + h2 < 360 ? (h1 + h2 + 360) / 2 : (h1 + h2 - 360) / 2);
    }
    const double dl = other[0] - one[0], dc = c2 - c1, dh = 2 * std::sqrt(c1 * c2) * std::sin(turn / 2 * degree);
    const double l = (one[0] + other[0]) / 2, c = (c1 + c2) / 2;
    const double t = 1 - 0.17 * std::cos((middle - 30) * degree) + 0.24 * std::cos(2 * middle * degree) +
                     0.32 * std::cos((3 * middle + 6) * degree) - 0.20 * std::cos((4 * middle - 63) * degree);
    const double away = (l - 50) * (l - 50);
    const double sl = 1 + 0.015 * away / std::sqrt(20 + away), sc = 1 + 0.045 * c, sh = 1 + 0.015 * c * t;
    const double bent = (middle - 275) / 25;
    const double rt = -std::sin(2 * 30 * std::exp(-bent * bent) * degree) * 2 * share(c);
    const double x = dl / sl, y = dc / sc, z = dh / sh;
    return std::sqrt(x * x + y * y + z * z + rt * y * z);
}

double apart(const Eye& eye, Colour one, Colour other) {
    return ciede2000(lab(seen_by(eye, one)), lab(seen_by(eye, other)));
}

constexpr std::array themes{Theme::dark_hall, Theme::bright_hall};

}  // namespace

TEST_CASE("the difference of colours is CIEDE2000's") {
    struct Pair {
        Three one, other;
        double difference;
    };
    // Sharma, Wu and Dalal 2005, pairs 1, 4, 7, 9, 10, 13, 16 and 23 of their table 1, to its four digits.
    const Pair pairs[] = {{{50, 2.6772, -79.7751}, {50, 0, -82.7485}, 2.0425},
                          {{50, -1.3802, -84.2814}, {50, 0, -82.7485}, 1.0000},
                          {{50, 0, 0}, {50, -1, 2}, 2.3669},
                          {{50, 2.49, -0.001}, {50, -2.49, 0.0009}, 7.1792},
                          {{50, 2.49, -0.001}, {50, -2.49, 0.0011}, 7.2195},
                          {{50, 2.5, 0}, {50, 0, -2.5}, 4.3065},
                          {{50, 2.5, 0}, {73, 25, -18}, 27.1492},
                          {{60.2574, -34.0099, 36.2677}, {60.4626, -34.1751, 39.4387}, 1.2644},
                          {{2.0776, 0.0795, -1.1350}, {0.9033, -0.0636, -0.5514}, 0.9082}};
    for (const Pair& pair : pairs) {
        CHECK(ciede2000(pair.one, pair.other) == Approx(pair.difference).epsilon(5e-5));
        CHECK(ciede2000(pair.other, pair.one) == Approx(pair.difference).epsilon(5e-5));
    }
}

TEST_CASE("who sees no red, no green or no blue still tells the moments apart, and good from bad, held and the nudge") {
    for (const Theme theme : themes) {
        const Palette& p = palette(theme);
        for (const Eye& eye : eyes) {
            CAPTURE(eye.name);
            const Colour moments[] = {p.lift, p.gap, p.drop, p.clash};
            const Colour verdicts[] = {p.good, p.bad, p.held, p.nudge};
            for (int one = 0; one < 4; ++one)
                for (int other = one + 1; other < 4; ++other) {
                    CAPTURE(one);
                    CAPTURE(other);
                    CHECK(apart(eye, moments[one], moments[other]) >=
                          14.5);  // the least: gap and drop without blue cones
                    CHECK(apart(eye, verdicts[one], verdicts[other]) >= 11);
                }
        }
    }
}

TEST_CASE("every word of every screen stands out from the ground for every eye") {
    for (const Theme theme : themes)
        for (const NamedView& named : every_view()) {
            const TextWitness witness;
            static_cast<void>(stage(named.view, start + named.at, {1280, 720}, theme));
            const Palette& colours = palette(theme);
            for (const SeenText& text : witness.seen())
                for (const Eye& eye : eyes) {
                    CAPTURE(named.name);
                    CAPTURE(text.text);
                    CAPTURE(eye.name);
                    // WCAG 2.2, 1.4.3: 4.5 to 1, and 3 to 1 for large words, which a verdict's and a moment's are.
                    const bool plain = text.colour == colours.text || text.colour == colours.quiet;
                    const double least = plain || text.role != TextRole::acted ? 4.5 : 3.0;
                    CHECK(contrast_of(seen_by(eye, text.colour), seen_by(eye, colours.ground)) >= least);
                }
        }
}
