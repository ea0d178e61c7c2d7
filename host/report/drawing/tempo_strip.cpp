#include "report/drawing/tempo_strip.hpp"

#include <cairo.h>

#include <algorithm>
#include <string>

#include "report/drawing/shapes.hpp"
#include "report/drawing/text.hpp"

namespace breakstep {
namespace {

constexpr double shortest = 0.4;  // seconds at the axis
constexpr double longest = 1.5;
constexpr double units_per_second = 7.636;
constexpr double heading_height = 3.6;  // units above the plot
constexpr double plot_height = (longest - shortest) * units_per_second;

struct Plot {
    cairo_t* cairo;
    const TempoStrip& strip;
    const TempoStripLayout& layout;
    const Palette& colours;
    double top;

    [[nodiscard]] double u(double units) const { return units * layout.unit; }
    [[nodiscard]] double x(Duration in_set) const {
        if (strip.length <= Duration{}) return layout.left;
        const double share = static_cast<double>(in_set.count()) / static_cast<double>(strip.length.count());
        return layout.left + std::clamp(share, 0.0, 1.0) * layout.width;
    }
    [[nodiscard]] double y(Duration interval) const {
        const double seconds = std::clamp(static_cast<double>(interval.count()) * 1e-9, shortest, longest);
        return top + u((longest - seconds) * units_per_second);
    }
    [[nodiscard]] double axis() const { return top + u(plot_height); }
};

/// The legend is laid from the right, where the axis ends; returns where it begins.
double draw_legend(const Plot& plot, double baseline) {
    const Palette& colours = plot.colours;
    const TextStyle words{plot.u(2.0), Weight::regular, colours.quiet};
    const double middle = baseline - plot.u(0.72);
    double x = plot.layout.left + plot.layout.width;
    x -= draw_text(plot.cairo, "free", x, baseline, words, Anchor::end) + plot.u(1.2);
    stroke_ring(plot.cairo, {x, middle}, plot.u(0.46), plot.u(0.19), colours.text);
    x -= plot.u(2.2);
    x -= draw_text(plot.cairo, "caught", x, baseline, words, Anchor::end) + plot.u(1.2);
    fill_disc(plot.cairo, {x, middle}, plot.u(0.55), colours.text);
    x -= plot.u(2.2);
    x -= draw_text(plot.cairo, "announced", x, baseline, words, Anchor::end) + plot.u(1.5);
    fill_box(plot.cairo, x, baseline - plot.u(1.6), plot.u(0.9), plot.u(1.7),
             blend(colours.ground, colours.nudge, 0.6));
    return x;
}

void draw_heading(const Plot& plot) {
    const Palette& colours = plot.colours;
    const double baseline = plot.top - plot.u(1.8);
    const double left = plot.layout.left - plot.u(4);
    const double size = plot.u(2.25);
    const double legend = draw_legend(plot, baseline);
    const double words = left +
                         draw_text(plot.cairo, "Your rhythm", left, baseline, {size, Weight::semibold, colours.text}) +
                         plot.u(1.5);
    const std::string_view axis = "entry to entry, seconds";
    if (words + text_width(axis, size, Weight::regular) + plot.u(1.5) < legend)
        draw_text(plot.cairo, axis, words, baseline, {size, Weight::regular, colours.quiet});
}

void draw_axes(const Plot& plot) {
    const double left = plot.layout.left;
    const double right = left + plot.layout.width;
    const TextStyle words{plot.u(2.0), Weight::regular, plot.colours.quiet};
    const auto line = [&](Duration interval, const char* text) {
        const double y = plot.y(interval);
        stroke_line(plot.cairo, {left, y}, {right, y}, plot.u(0.1), plot.colours.dim);
        draw_text(plot.cairo, text, left - plot.u(1.4), y + plot.u(0.72), words, Anchor::end);
    };
    line(500ms, "0.5");
    line(1000ms, "1.0");
    line(1500ms, "1.5");
    stroke_line(plot.cairo, {left, plot.axis()}, {right, plot.axis()}, plot.u(0.14), plot.colours.hip_line);
    for (const Duration attack : plot.strip.attacks)
        fill_box(plot.cairo, plot.x(attack) - plot.u(0.12), plot.axis(), plot.u(0.24), plot.u(0.88),
                 plot.colours.hip_line);
}

void draw_windows(const Plot& plot) {
    const Colour band = blend(plot.colours.ground, plot.colours.nudge, 0.6);
    for (const TempoEntry& entry : plot.strip.entries) {
        if (!entry.announced || entry.cut) continue;
        const double top = plot.y(entry.announced->end);
        const double bottom = plot.y(entry.announced->begin);
        fill_box(plot.cairo, plot.x(entry.at) - plot.u(0.45), top, plot.u(0.9), bottom - top, band);
    }
}

void draw_entries(const Plot& plot) {
    const Palette& colours = plot.colours;
    for (const TempoEntry& entry : plot.strip.entries) {
        const Point at{plot.x(entry.at), plot.y(entry.interval)};
        if (entry.cut) {
            stroke_line(plot.cairo, {at.x, plot.axis()}, at, plot.u(0.14), colours.hip_line);
            stroke_line(plot.cairo, {at.x - plot.u(0.45), at.y}, {at.x + plot.u(0.45), at.y}, plot.u(0.14),
                        colours.hip_line);
        } else if (entry.caught) {
            fill_disc(plot.cairo, at, plot.u(0.55), colours.text);
        } else {
            fill_disc(plot.cairo, at, plot.u(0.46), colours.ground);
            stroke_ring(plot.cairo, at, plot.u(0.46), plot.u(0.19), colours.text);
        }
    }
}

void draw_answer(const Plot& plot) {
    const Palette& colours = plot.colours;
    const double left = plot.layout.answer_left;
    draw_text(plot.cairo, "Can you be timed?", left, plot.top + plot.u(1.4),
              {plot.u(2.3), Weight::regular, colours.quiet});
    const Colour colour = plot.strip.sign == Sign::none ? colours.text : colours.nudge;
    draw_text(plot.cairo, word(plot.strip.sign), left, plot.top + plot.u(5.6), {plot.u(4.4), Weight::bold, colour});
    if (plot.strip.windows == 0) return;
    const std::string counted = std::to_string(plot.strip.caught) + " of " + std::to_string(plot.strip.windows) +
                                " caught, chance " + std::to_string(plot.strip.chance);
    draw_text(plot.cairo, counted, left, plot.top + plot.u(9), {plot.u(2.3), Weight::medium, colours.text});
}

}  // namespace

double tempo_strip_height(const TempoStripLayout& layout) {
    return ((layout.heading ? heading_height : 0) + plot_height + 1.0) * layout.unit;
}

void draw_tempo_strip(cairo_t* cairo, const TempoStrip& strip, const TempoStripLayout& layout, Theme theme) {
    const double top = layout.top + (layout.heading ? heading_height * layout.unit : 0);
    const Plot plot{cairo, strip, layout, palette(theme), top};
    if (layout.heading) draw_heading(plot);
    draw_axes(plot);
    draw_windows(plot);
    draw_entries(plot);
    if (layout.answer) draw_answer(plot);
}

}  // namespace breakstep
