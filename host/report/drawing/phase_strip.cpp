#include "report/drawing/phase_strip.hpp"

#include <cairo.h>

#include <algorithm>
#include <string>

#include "report/drawing/limb.hpp"
#include "report/drawing/shapes.hpp"
#include "report/drawing/text.hpp"
#include "report/drawing/verdict_shape.hpp"

namespace breakstep {
namespace {

constexpr double hill = 2.3;         // units, at full reach
constexpr double first_row = 2.39;   // units from the top to the first row's floor
constexpr double after_rows = 0.92;  // units from the last floor to the axis' lower end
constexpr double axis_words = 2.3;   // size, in units
constexpr double row_words = 2.25;
constexpr double number_size = 2.2;
constexpr double shape_size = 1.4;

/// The strip under way: turns times and rows into places.
struct Strip {
    cairo_t* cairo;
    const PhaseStripLayout& layout;
    const Palette& colours;

    [[nodiscard]] double u(double units) const { return units * layout.unit; }
    [[nodiscard]] double x(Duration since_toe_off) const {
        const auto part = static_cast<double>((since_toe_off - layout.from).count());
        return layout.left + part / static_cast<double>((layout.to - layout.from).count()) * layout.width;
    }
    [[nodiscard]] double floor_of(std::size_t row) const {
        return layout.top + u(first_row) + static_cast<double>(row) * u(layout.pitch);
    }
    /// Hills and marks shrink with the rows, so that one never hides the next.
    [[nodiscard]] double scale() const { return std::clamp(layout.pitch / 2.85, 0.45, 1.0); }
    [[nodiscard]] double height_of(LimbPose pose) const {
        return std::max(0.0, foot_height(pose)) / highest_foot() * u(hill) * scale();
    }
    [[nodiscard]] double right() const { return layout.left + layout.width; }
};

void draw_grid(const Strip& strip, std::size_t rows) {
    const PhaseStripLayout& layout = strip.layout;
    const double bottom = strip.floor_of(rows == 0 ? 0 : rows - 1) + strip.u(after_rows);
    const TextStyle words{strip.u(axis_words), Weight::regular, strip.colours.quiet, TextRole::axis};
    const double baseline = bottom + strip.u(2.25);
    constexpr Duration step = 250ms;
    for (Duration at = 0ms; at <= layout.to; at += step) {
        const double x = strip.x(at);
        const double thickness = at == Duration{} ? 0.24 : 0.12;
        stroke_line(strip.cairo, {x, layout.top}, {x, bottom}, strip.u(thickness), strip.colours.dim);
        if (!strip.layout.axis_words) continue;
        if (at == Duration{}) draw_text(strip.cairo, "toe-off", x, baseline, words, Anchor::middle);
        const bool whole_half = at % 500ms == Duration{} && at > Duration{};
        if (whole_half && x < strip.right() - strip.u(1)) {
            const auto halves = at / 500ms;
            const std::string text = std::to_string(halves / 2) + (halves % 2 != 0 ? ".5 s" : " s");
            draw_text(strip.cairo, text, x, baseline, words, Anchor::middle);
        }
    }
    for (std::size_t row = 0; row < rows; ++row) {
        const double y = strip.floor_of(row);
        stroke_line(strip.cairo, {layout.left, y}, {strip.right(), y}, strip.u(0.1), strip.colours.dim);
    }
}

/// The foot's height over one phase, as a path: along the top, and down to the floor when closed.
void hill_path(const Strip& strip, const AttackTimeline& attack, std::size_t index, double floor, bool closed) {
    const Duration begin = attack.begin_of(index);
    const Duration length = attack.phases[index].length;
    constexpr int samples = 24;
    cairo_new_path(strip.cairo);
    if (closed) cairo_move_to(strip.cairo, strip.x(begin), floor);
    for (int i = 0; i <= samples; ++i) {
        // Just before the end: the border itself belongs to the next phase.
        const Duration at = begin + (length - 1ns) * i / samples;
        cairo_line_to(strip.cairo, strip.x(at), floor - strip.height_of(limb_at(attack, at)));
    }
    if (closed) {
        cairo_line_to(strip.cairo, strip.x(begin + length), floor);
        cairo_close_path(strip.cairo);
    }
}

void draw_closed_hill(const Strip& strip, const AttackTimeline& attack, std::size_t index, double floor) {
    hill_path(strip, attack, index, floor, true);
    hatch_path(strip.cairo, strip.u(0.46), strip.u(0.19), strip.colours.clash);
    hill_path(strip, attack, index, floor, false);
    cairo_set_line_width(strip.cairo, strip.u(0.138));
    cairo_set_line_join(strip.cairo, CAIRO_LINE_JOIN_ROUND);
    set_colour(strip.cairo, strip.colours.clash);
    cairo_stroke(strip.cairo);
}

void draw_phase(const Strip& strip, const AttackTimeline& attack, std::size_t index, double floor) {
    const AttackPhase& phase = attack.phases[index];
    const double left = strip.x(attack.begin_of(index));
    const double right = strip.x(attack.begin_of(index + 1));
    const double slab = 0.17 * strip.u(hill) * strip.scale();
    switch (phase.phase) {
        case Phase::guard:
            return;
        case Phase::up:
        case Phase::pull_back:
        case Phase::up_or_pull_back:
            return draw_closed_hill(strip, attack, index, floor);
        case Phase::gap:
            return fill_box(strip.cairo, left, floor - slab, right - left, slab, strip.colours.gap);
        case Phase::hands:
            // No foot is up: a hatched slab, closed like the leg above the line.
            cairo_new_path(strip.cairo);
            cairo_rectangle(strip.cairo, left, floor - 2.4 * slab, right - left, 2.4 * slab);
            hatch_path(strip.cairo, strip.u(0.46), strip.u(0.19), strip.colours.clash);
            return stroke_line(strip.cairo, {left, floor - 2.4 * slab}, {right, floor - 2.4 * slab}, strip.u(0.138),
                               strip.colours.clash);
        case Phase::lift:
        case Phase::drop:
            hill_path(strip, attack, index, floor, true);
            set_colour(strip.cairo, colour_of(phase.phase, strip.colours));
            cairo_fill(strip.cairo);
            return;
    }
}

void draw_way_to_contact(const Strip& strip, const StripRep& rep, double floor) {
    if (!rep.contact) return;
    const double at = strip.x(*rep.contact);
    const double tip = floor - strip.u(1.84) * strip.scale();
    if (rep.commit && *rep.commit <= *rep.contact) {
        const double from = strip.x(*rep.commit);
        stroke_line(strip.cairo, {from, floor}, {at + strip.u(0.1), floor}, strip.u(0.3) * strip.scale(),
                    strip.colours.text);
        fill_box(strip.cairo, from - strip.u(0.1), floor - strip.u(0.39) * strip.scale(), strip.u(0.2),
                 strip.u(0.78) * strip.scale(), strip.colours.text);
    }
    stroke_line(strip.cairo, {at, floor}, {at, tip}, strip.u(0.62), strip.colours.ground);
    stroke_line(strip.cairo, {at, floor}, {at, tip}, strip.u(0.21), strip.colours.text);
}

void draw_mark(const Strip& strip, const StripRep& rep, double floor) {
    const double size = strip.u(shape_size) * strip.scale();
    const double after_end = strip.x(rep.attack.end()) + strip.u(2.2);
    const double x = rep.contact ? strip.x(*rep.contact) : after_end;
    const Point centre{std::min(x, strip.right() - strip.u(1)),
                       floor - strip.u(rep.contact ? 1.84 : 0.8) * strip.scale()};
    if (rep.contact) fill_disc(strip.cairo, centre, strip.u(1.0) * strip.scale(), strip.colours.ground);
    draw_verdict_shape(strip.cairo, rep.verdict, centre, size, strip.colours, true);
}

void draw_row(const Strip& strip, const StripRep& rep, std::size_t row) {
    const double floor = strip.floor_of(row);
    cairo_save(strip.cairo);
    cairo_rectangle(strip.cairo, strip.layout.left, floor - strip.u(4), strip.layout.width, strip.u(6));
    cairo_clip(strip.cairo);
    for (std::size_t i = 0; i < rep.attack.phases.size(); ++i) draw_phase(strip, rep.attack, i, floor);
    draw_way_to_contact(strip, rep, floor);
    draw_mark(strip, rep, floor);
    cairo_restore(strip.cairo);
}

void draw_row_words(const Strip& strip, const StripRep& rep, std::size_t row) {
    const double floor = strip.floor_of(row);
    const bool roomy = strip.layout.pitch >= least_pitch_for_words;
    if (roomy || row % 2 == 0)
        draw_text(strip.cairo, std::to_string(rep.number), strip.layout.left - strip.u(1.4), floor - strip.u(0.1),
                  {strip.u(number_size), Weight::regular, strip.colours.quiet, TextRole::axis}, Anchor::end);
    if (!strip.layout.verdict_words || !roomy) return;
    draw_verdict_shape(strip.cairo, rep.verdict, {strip.right() + strip.u(3.6), floor - strip.u(0.8)},
                       strip.u(shape_size), strip.colours, true);
    draw_text(strip.cairo, word(rep.verdict), strip.right() + strip.u(6), floor,
              {strip.u(row_words), Weight::medium, strip.colours.text, TextRole::strip});
}

}  // namespace

double phase_strip_height(const PhaseStripLayout& layout, std::size_t rows) {
    const double more_rows = rows > 1 ? static_cast<double>(rows - 1) * layout.pitch : 0;
    return (first_row + more_rows + after_rows + (layout.axis_words ? 2.9 : 0)) * layout.unit;
}

void draw_phase_strip(cairo_t* cairo, const std::vector<StripRep>& reps, const PhaseStripLayout& layout, Theme theme) {
    const Strip strip{cairo, layout, palette(theme)};
    draw_grid(strip, reps.size());
    for (std::size_t row = 0; row < reps.size(); ++row) {
        draw_row(strip, reps[row], row);
        draw_row_words(strip, reps[row], row);
    }
}

double draw_phase_legend(cairo_t* cairo, double left, double baseline, double unit, Theme theme) {
    const Palette& colours = palette(theme);
    const TextStyle words{2.25 * unit, Weight::regular, colours.text, TextRole::strip};
    const double swatch = 1.4 * unit;
    const double top = baseline - swatch;
    double x = left;
    const auto say = [&](std::string_view text) {
        x += 2.2 * unit;
        x += draw_text(cairo, text, x, baseline, words) + 2.2 * unit;
    };
    fill_box(cairo, x, top, swatch, swatch, colours.lift);
    say("lift");
    cairo_new_path(cairo);
    cairo_rectangle(cairo, x, top, swatch, swatch);
    hatch_path(cairo, 0.46 * unit, 0.19 * unit, colours.clash);
    cairo_rectangle(cairo, x + 0.07 * unit, top + 0.07 * unit, swatch - 0.14 * unit, swatch - 0.14 * unit);
    cairo_set_line_width(cairo, 0.14 * unit);
    set_colour(cairo, colours.clash);
    cairo_stroke(cairo);
    say("up");
    fill_box(cairo, x, top, swatch, swatch, colours.drop);
    say("drop");
    fill_box(cairo, x, top, swatch, swatch, colours.gap);
    say("gap");
    const double line = baseline - 0.2 * unit;
    stroke_line(cairo, {x, line}, {x + 3.5 * unit, line}, 0.3 * unit, colours.text);
    fill_box(cairo, x, line - 0.39 * unit, 0.2 * unit, 0.78 * unit, colours.text);
    fill_box(cairo, x + 3.3 * unit, line - 1.5 * unit, 0.21 * unit, 1.5 * unit, colours.text);
    x += 2.3 * unit;
    say("you");
    return x - 2.2 * unit - left;
}

Duration strip_end_for(const std::vector<StripRep>& reps) {
    constexpr Duration usual = 1320ms;
    constexpr Duration most = 3000ms;
    Duration last{};
    for (const StripRep& rep : reps) last = std::max({last, rep.attack.end(), rep.contact.value_or(Duration{})});
    if (last <= usual) return usual;
    constexpr Duration step = 250ms;
    return std::min(most, (last + 70ms + step - 1ns) / step * step);
}

}  // namespace breakstep
