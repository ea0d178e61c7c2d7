#include "report/drawing/palette.hpp"

#include <cairo.h>

#include <algorithm>
#include <cmath>

namespace breakstep {
namespace {

constexpr Colour hex(std::uint32_t rgb) {
    return {static_cast<std::uint8_t>(rgb >> 16U), static_cast<std::uint8_t>((rgb >> 8U) & 0xFFU),
            static_cast<std::uint8_t>(rgb & 0xFFU)};
}

constexpr Palette dark{.ground = hex(0x10191C),
                       .raised = hex(0x18252A),
                       .text = hex(0xECEFEA),
                       .quiet = hex(0x9AA8AA),
                       .figure = hex(0xC3CDCB),
                       .hip_line = hex(0x7A8C8E),
                       .dim = hex(0x31424A),
                       .lift = hex(0xF6DC7E),
                       .gap = hex(0x46C4B7),
                       .drop = hex(0x6F8CE6),
                       .clash = hex(0xBE5D3E),
                       .good = hex(0xC4EFB6),
                       .bad = hex(0xF2805C),
                       .held = hex(0x8ADBFB),
                       .nudge = hex(0xD184BE)};

constexpr Palette bright{.ground = hex(0xF7F5EF),
                         .raised = hex(0xECE9E0),
                         .text = hex(0x16211F),
                         .quiet = hex(0x56635F),
                         .figure = hex(0x47534F),
                         .hip_line = hex(0x76837F),
                         .dim = hex(0xCFD3C9),
                         .lift = hex(0xA87D14),
                         .gap = hex(0x177A6F),
                         .drop = hex(0x1D387F),
                         .clash = hex(0x91402F),
                         .good = hex(0x0B5240),
                         .bad = hex(0xB0523A),
                         .held = hex(0x0A6FA6),
                         .nudge = hex(0x783A6C)};

constexpr Palette paper_from(Palette colours) {
    colours.ground = hex(0xFFFFFF);
    return colours;
}
constexpr Palette on_paper = paper_from(bright);

double linear(std::uint8_t channel) {
    const double value = channel / 255.0;
    return value <= 0.04045 ? value / 12.92 : std::pow((value + 0.055) / 1.055, 2.4);
}

/// The grey of the same relative luminance (the inverse of sRGB's transfer function).
Colour grey_of(Colour colour) {
    const double light = relative_luminance(colour);
    const double value = light <= 0.0031308 ? light * 12.92 : 1.055 * std::pow(light, 1 / 2.4) - 0.055;
    const auto channel = static_cast<std::uint8_t>(std::lround(value * 255));
    return {channel, channel, channel};
}

Palette grey_from(Palette colours) {
    for (Colour* colour : {&colours.ground, &colours.raised, &colours.text, &colours.quiet, &colours.figure,
                           &colours.hip_line, &colours.dim, &colours.lift, &colours.gap, &colours.drop, &colours.clash,
                           &colours.good, &colours.bad, &colours.held, &colours.nudge})
        *colour = grey_of(*colour);
    return colours;
}

}  // namespace

const Palette& palette(Theme theme) {
    switch (theme) {
        case Theme::dark_hall:
            return dark;
        case Theme::bright_hall:
            return bright;
        case Theme::paper:
            return on_paper;
        case Theme::grey_paper: {
            static const Palette grey = grey_from(on_paper);
            return grey;
        }
    }
    return dark;
}

Colour colour_of(Phase phase, const Palette& colours) {
    switch (phase) {
        case Phase::guard:
            return colours.figure;
        case Phase::lift:
            return colours.lift;
        case Phase::drop:
            return colours.drop;
        case Phase::gap:
            return colours.gap;
        case Phase::up:
        case Phase::pull_back:
        case Phase::up_or_pull_back:
        case Phase::hands:
            return colours.clash;
    }
    return colours.figure;
}

Colour colour_of(Moment moment, const Palette& colours) {
    switch (moment) {
        case Moment::lift:
            return colours.lift;
        case Moment::gap:
            return colours.gap;
        case Moment::drop:
            return colours.drop;
    }
    return colours.text;
}

Colour colour_of(Verdict verdict, const Palette& colours) {
    switch (verdict) {
        case Verdict::on_time:
        case Verdict::around:
            return colours.good;
        case Verdict::held:
            return colours.held;
        case Verdict::void_rep:
            return colours.quiet;
        default:
            return colours.bad;
    }
}

Colour blend(Colour under, Colour over, double share) {
    const auto mix = [share](std::uint8_t low, std::uint8_t high) {
        return static_cast<std::uint8_t>(std::lround(low + (high - low) * std::clamp(share, 0.0, 1.0)));
    };
    return {mix(under.red, over.red), mix(under.green, over.green), mix(under.blue, over.blue)};
}

Colour tint(Colour ground, Colour colour) {
    constexpr double most = 0.085;
    const double before = relative_luminance(ground);
    for (double share = 0.20; share > 0; share -= 0.01) {
        const Colour tinted = blend(ground, colour, share);
        if (std::abs(relative_luminance(tinted) - before) <= most) return tinted;
    }
    return ground;
}

double relative_luminance(Colour colour) {
    return 0.2126 * linear(colour.red) + 0.7152 * linear(colour.green) + 0.0722 * linear(colour.blue);
}

double contrast(Colour one, Colour other) {
    const double a = relative_luminance(one) + 0.05;
    const double b = relative_luminance(other) + 0.05;
    return std::max(a, b) / std::min(a, b);
}

void set_colour(cairo_t* cairo, Colour colour) {
    cairo_set_source_rgb(cairo, colour.red / 255.0, colour.green / 255.0, colour.blue / 255.0);
}

}  // namespace breakstep
