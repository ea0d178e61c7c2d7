#include <algorithm>
#include <string>

#include "devices/stage/screens.hpp"
#include "report/drawing/shapes.hpp"
#include "report/drawing/text.hpp"

namespace breakstep {
namespace {

constexpr double axis_left = 13;  // units
// Baselines of the advice: in one line, or in two so close that the strip below keeps its words.
constexpr double advice_line = 12.6, first_of_two = 11.4, second_of_two = 15;
constexpr double right_column = 55;    // from the axis' right end to the screen's right edge, margin included
constexpr double strip_bottom = 45.6;  // axis words included, where the rhythm follows
constexpr double page_bottom = 67.5;
constexpr double divider = 46.4, rhythm_top = 48.2;
constexpr double lane_left = 16.2, lane_width = 65, answer_left = 87.6;

/// Advice, and its reason beside it where there is room, else under it. Returns how far down it went.
double draw_advice(const Canvas& canvas, const StageRest& rest) {
    const double room = canvas.right() - canvas.left();
    const double size = fitting_size(rest.advice, room, canvas.u(6.1 * 0.72), canvas.u(3.03), Weight::bold);
    const double reason_size = canvas.u(5.0 * 0.72);
    const std::string advice = shortened(rest.advice, room, size, Weight::bold);
    const double used = text_width(advice, size, Weight::bold), gap = used > 0 ? canvas.u(2.2) : 0;
    const bool beside = used + gap + text_width(rest.reason, reason_size, Weight::regular) <= room;
    const double first = beside ? advice_line : first_of_two;
    draw_text(canvas.cairo, advice, canvas.left(), canvas.u(first), {size, Weight::bold, canvas.colours.text});
    if (beside) {
        draw_text(canvas.cairo, rest.reason, canvas.left() + used + gap, canvas.u(first),
                  {reason_size, Weight::regular, canvas.colours.quiet});
        return first;
    }
    const double fitted = fitting_size(rest.reason, room, reason_size, canvas.u(3.03), Weight::regular);
    draw_text(canvas.cairo, shortened(rest.reason, room, fitted, Weight::regular), canvas.left(),
              canvas.u(second_of_two), {fitted, Weight::regular, canvas.colours.quiet});
    return second_of_two;
}

void draw_head(const Canvas& canvas, const StageView& view) {
    const double size = canvas.u(3.1);
    const double width = draw_text(canvas.cairo, shortened(view.athlete, canvas.u(60), size, Weight::semibold),
                                   canvas.left(), canvas.u(6.2), {size, Weight::semibold, canvas.colours.text});
    if (view.rest.set > 0) {
        std::string set = "set " + std::to_string(view.rest.set);
        if (view.rest.sets > 0) set += " of " + std::to_string(view.rest.sets);
        draw_text(canvas.cairo, set, canvas.left() + width + canvas.u(2.2), canvas.u(6.2),
                  {size, Weight::regular, canvas.colours.quiet});
    }
    draw_saved_sign(canvas, view, 6.2);
}

/// Where the strip's rows begin below the advice: closer under two lines of it, where the rhythm needs its room too.
double strip_top(const StageRest& rest, double advice_end) {
    return advice_end + (rest.rhythm && advice_end > advice_line ? 4.1 : 6.4);
}

void draw_phase_rows(const Canvas& canvas, const StageRest& rest, double advice_end) {
    const double top = strip_top(rest, advice_end);
    PhaseStripLayout layout;
    layout.left = canvas.u(axis_left);
    layout.top = canvas.u(top);
    layout.width = canvas.u(canvas.width - axis_left - right_column);
    layout.unit = canvas.unit;
    layout.to = strip_end_for(rest.reps);
    // Rows of the usual height where they fit, else lower ones; the axis' words go before the rows' own.
    const double room = (rest.rhythm ? strip_bottom : page_bottom) - top;
    const auto pitch_with = [&](bool axis_words) {
        layout.axis_words = axis_words;
        const double fixed = phase_strip_height(layout, 1) / canvas.unit;
        return rest.reps.size() > 1 ? std::min(2.85, (room - fixed) / static_cast<double>(rest.reps.size() - 1)) : 2.85;
    };
    layout.pitch = pitch_with(true);
    if (layout.pitch < least_pitch_for_words) layout.pitch = pitch_with(false);
    draw_phase_strip(canvas.cairo, rest.reps, layout, canvas.theme);
    const Duration before_toe_off = -layout.from;
    const double toe_off =
        static_cast<double>(before_toe_off.count()) / static_cast<double>((layout.to - layout.from).count());
    draw_phase_legend(canvas.cairo, layout.left + toe_off * layout.width, canvas.u(top - 1.2), canvas.unit,
                      canvas.theme);
}

void draw_strips(const Canvas& canvas, const StageRest& rest, double advice_end) {
    if (!rest.reps.empty()) draw_phase_rows(canvas, rest, advice_end);
    if (!rest.rhythm) return;
    stroke_line(canvas.cairo, {canvas.left(), canvas.u(divider)}, {canvas.right(), canvas.u(divider)}, canvas.u(0.2),
                canvas.colours.dim);
    RhythmLaneLayout layout;
    layout.left = canvas.u(lane_left);
    layout.top = canvas.u(rhythm_top);
    layout.width = canvas.u(lane_width + canvas.width - 128);
    layout.unit = canvas.unit;
    layout.answer_left = canvas.u(answer_left + canvas.width - 128);
    layout.answer_right = canvas.right();
    draw_rhythm_lane(canvas.cairo, *rest.rhythm, layout, canvas.theme);
}

/// Another promise than the rhythm's, so a line of its own, away from the rhythm's counts.
void draw_read(const Canvas& canvas, const StageRest& rest) {
    constexpr double words = 2.4, baseline = 70.6;
    if (rest.read == Sign::none) return;
    const double gap = canvas.u(1);
    double x = canvas.left();
    x += gap + draw_text(canvas.cairo, rest.read_asks, x, canvas.u(baseline),
                         {canvas.u(words), Weight::regular, canvas.colours.quiet, TextRole::strip});
    x += gap + draw_text(canvas.cairo, word(rest.read), x, canvas.u(baseline),
                         {canvas.u(words), Weight::bold, canvas.colours.nudge, TextRole::strip});
    draw_text(canvas.cairo, shortened(rest.read_words, canvas.right() - x, canvas.u(words), Weight::regular), x,
              canvas.u(baseline), {canvas.u(words), Weight::regular, canvas.colours.text, TextRole::strip});
}

void draw_countdown(const Canvas& canvas, const StageRest& rest, HostTime shown_at) {
    const TextStyle quiet{canvas.u(3.03), Weight::regular, canvas.colours.quiet};
    double y = advice_line + 6.8;
    constexpr double column = 20.4;
    if (!rest.next.empty()) {
        draw_text(canvas.cairo, "next", canvas.right(), canvas.u(y), quiet, Anchor::end);
        const double size = fitting_size(rest.next, canvas.u(column), canvas.u(5.4), canvas.u(3.03), Weight::bold);
        draw_text(canvas.cairo, shortened(rest.next, canvas.u(column), size, Weight::bold), canvas.right(),
                  canvas.u(y + 5.4), {size, Weight::bold, canvas.colours.text}, Anchor::end);
        y += 15.8;
    } else {
        y += 10.4;
    }
    if (rest.end > rest.begin) {
        const std::int64_t left = seconds_left(rest, shown_at);
        const std::int64_t whole = (rest.end - rest.begin + 999ms) / 1s;
        draw_text(canvas.cairo, clock_words(left), canvas.right(), canvas.u(y),
                  {canvas.u(9.36), Weight::bold, canvas.colours.text}, Anchor::end);
        const double share = whole > 0 ? static_cast<double>(whole - left) / static_cast<double>(whole) : 1;
        fill_box(canvas.cairo, canvas.right() - canvas.u(column), canvas.u(y + 2.4), canvas.u(column), canvas.u(0.8),
                 canvas.colours.dim);
        fill_box(canvas.cairo, canvas.right() - canvas.u(column), canvas.u(y + 2.4),
                 canvas.u(column) * std::clamp(share, 0.0, 1.0), canvas.u(0.8), canvas.colours.text);
        y += 7.6;
    }
    if (!rest.then.empty())
        draw_text(canvas.cairo, shortened("then " + rest.then, canvas.u(column), canvas.u(3.03), Weight::regular),
                  canvas.right(), canvas.u(y), quiet, Anchor::end);
}

void draw_message_line(const Canvas& canvas, const StageMessage& message) {
    // At rest a message takes the place of the advice: one voice at a time.
    const double room = canvas.right() - canvas.left() - canvas.u(7);
    const std::string text = message.what + " " + message.to_do;
    const double size = fitting_size(text, room, canvas.u(6.1 * 0.72), canvas.u(3.03), Weight::bold);
    stroke_ring(canvas.cairo, {canvas.left() + canvas.u(2), canvas.u(11)}, canvas.u(1.7), canvas.u(0.45),
                canvas.colours.text);
    draw_text(canvas.cairo, shortened(text, room, size, Weight::bold), canvas.left() + canvas.u(6), canvas.u(12.6),
              {size, Weight::bold, canvas.colours.text});
}

}  // namespace

std::int64_t seconds_left(HostTime begin, HostTime end, HostTime shown_at) {
    const Duration left = std::min(end - shown_at, end - begin);
    return left <= Duration{} ? 0 : (left + 1s - 1ns) / 1s;
}

std::string clock_words(std::int64_t seconds) {
    const std::string rest = std::to_string(seconds % 60);
    return std::to_string(seconds / 60) + (rest.size() < 2 ? ":0" : ":") + rest;
}

void draw_saved_sign(const Canvas& canvas, const StageView& view, double baseline) {
    if (!view.saved) return;
    draw_text(canvas.cairo, *view.saved ? "saved" : "saving", canvas.right(), canvas.u(baseline),
              {canvas.u(2.4), Weight::regular, canvas.colours.quiet, TextRole::strip}, Anchor::end);
}

void draw_rest_screen(const Canvas& canvas, const StageView& view, HostTime shown_at) {
    draw_head(canvas, view);
    double advice_end = advice_line;
    if (view.message)
        draw_message_line(canvas, *view.message);
    else
        advice_end = draw_advice(canvas, view.rest);
    draw_strips(canvas, view.rest, advice_end);
    draw_countdown(canvas, view.rest, shown_at);
    if (view.notice.empty())
        draw_read(canvas, view.rest);
    else
        draw_notice(canvas, view, 70.4);
}

}  // namespace breakstep
