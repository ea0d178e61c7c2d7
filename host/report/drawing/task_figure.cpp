#include "report/drawing/task_figure.hpp"

#include <cairo.h>

#include <algorithm>
#include <cmath>

#include "report/drawing/verdict_shape.hpp"

namespace breakstep {
namespace {

constexpr double thin_way = 0.016, thick_way = 0.038;  // hip heights
constexpr double tinted = 0.34, tinted_bright = 0.24;

bool is_asked(const TaskFigure& task, const AttackPhase& phase) {
    if (task.around) return phase.phase == Phase::up && phase.held;
    AttackChoice asked;
    asked.moments = task.moments;
    switch (phase.phase) {
        case Phase::lift:
            return asked.asks(Moment::lift);
        case Phase::drop:
            return asked.asks(Moment::drop);
        case Phase::gap:
            return asked.asks(Moment::gap);
        default:
            return false;
    }
}

/// The foot's way through one phase, as a path from its begin to its end.
void way_path(cairo_t* cairo, const FigurePlace& place, const AttackTimeline& attack, std::size_t index) {
    constexpr int steps = 24;
    const Duration begin = attack.begin_of(index), length = attack.phases[index].length;
    const double floor = place.hip.y + place.height;
    for (int i = 0; i <= steps; ++i) {
        // The very end of a phase is the next one's begin, which may lie elsewhere.
        const Duration at = begin + length * i / steps - (i == steps ? 1us : 0us);
        const Point foot = point_at(place, limb_at(attack, at));
        if (i == 0)
            cairo_move_to(cairo, foot.x, std::min(foot.y, floor));
        else
            cairo_line_to(cairo, foot.x, std::min(foot.y, floor));
    }
}

void tint_sector(cairo_t* cairo, const FigurePlace& place, const AttackTimeline& attack, std::size_t index,
                 Colour colour, const Palette& colours) {
    const bool bright = relative_luminance(colours.ground) > 0.5;
    cairo_new_path(cairo);
    way_path(cairo, place, attack, index);
    cairo_line_to(cairo, place.hip.x, place.hip.y);
    cairo_close_path(cairo);
    set_colour(cairo, blend(colours.ground, colour, bright ? tinted_bright : tinted));
    cairo_fill(cairo);
}

void stroke_way(cairo_t* cairo, const FigurePlace& place, const AttackTimeline& attack, std::size_t index, bool thick,
                Colour colour) {
    const double width = (thick ? thick_way : thin_way) * place.height;
    const double dots[] = {0.01 * place.height, 0.043 * place.height};
    cairo_save(cairo);
    cairo_new_path(cairo);
    way_path(cairo, place, attack, index);
    cairo_set_line_width(cairo, width);
    cairo_set_line_join(cairo, CAIRO_LINE_JOIN_ROUND);
    cairo_set_line_cap(cairo, thick ? CAIRO_LINE_CAP_BUTT : CAIRO_LINE_CAP_ROUND);
    if (!thick) cairo_set_dash(cairo, dots, 2, 0);
    set_colour(cairo, colour);
    cairo_stroke(cairo);
    cairo_restore(cairo);
}

/// Which way the foot goes, half way through a phase.
void draw_arrow(cairo_t* cairo, const FigurePlace& place, const AttackTimeline& attack, std::size_t index,
                Colour colour) {
    const Duration middle = attack.begin_of(index) + attack.phases[index].length / 2;
    const Point before = point_at(place, limb_at(attack, middle - 8ms)),
                after = point_at(place, limb_at(attack, middle + 8ms));
    const double length = std::hypot(after.x - before.x, after.y - before.y);
    if (length <= 0) return;
    const double along = 0.055 * place.height, across = 0.052 * place.height;
    const double x = (after.x - before.x) / length, y = (after.y - before.y) / length;
    const Point at{(before.x + after.x) / 2, (before.y + after.y) / 2};
    cairo_new_path(cairo);
    cairo_move_to(cairo, at.x + along * x, at.y + along * y);
    cairo_line_to(cairo, at.x - along * x - across * y, at.y - along * y + across * x);
    cairo_line_to(cairo, at.x - along * x + across * y, at.y - along * y - across * x);
    cairo_close_path(cairo);
    set_colour(cairo, colour);
    cairo_fill(cairo);
}

/// Where the limb stands in the drawing: well into the first asked phase.
Duration posed_at(const TaskFigure& task) {
    for (std::size_t i = 0; i < task.attack.phases.size(); ++i)
        if (is_asked(task, task.attack.phases[i])) {
            const Duration length = task.attack.phases[i].length;
            return task.attack.begin_of(i) +
                   (task.attack.phases[i].phase == Phase::lift ? length * 6 / 10 : length * 2 / 3);
        }
    return {};
}

/// Where the gap counts beside another moment, its plate on the floor: the foot lands there and stands.
void draw_landing(cairo_t* cairo, const FigurePlace& place, const TaskFigure& task, const Palette& colours) {
    const Duration end = task.attack.end();
    if (end <= Duration{} || task.attack.phases.back().phase != Phase::gap ||
        !is_asked(task, task.attack.phases.back()))
        return;
    const Point foot = foot_point(place, limb_at(task.attack, end - 1us));
    fill_box(cairo, foot.x - 0.22 * place.height, place.hip.y + place.height, 0.44 * place.height, 0.04 * place.height,
             colours.gap);
}

/// In the midst of the closed zone; over a leg that is held there, where that is asked.
void draw_clash_sign(cairo_t* cairo, const FigurePlace& place, bool leg_held, const Palette& colours) {
    const Point at = point_at(place, leg_held ? LimbPose{121, 1.08} : LimbPose{110, 0.93});
    fill_disc(cairo, at, 0.19 * place.height, colours.ground);
    draw_verdict_shape(cairo, Verdict::clash, at, 0.22 * place.height, colours, false);
}

void draw_ways(cairo_t* cairo, const FigurePlace& place, const TaskFigure& task, const Palette& colours) {
    for (std::size_t i = 0; i < task.attack.phases.size(); ++i) {
        const AttackPhase& phase = task.attack.phases[i];
        const bool asked = is_asked(task, phase), still = phase.phase == Phase::gap || phase.phase == Phase::hands;
        if (still) continue;
        if (asked && is_open(phase.phase))
            tint_sector(cairo, place, task.attack, i, colour_of(phase.phase, colours), colours);
    }
    for (std::size_t i = 0; i < task.attack.phases.size(); ++i) {
        const AttackPhase& phase = task.attack.phases[i];
        if (phase.phase == Phase::gap || phase.phase == Phase::hands) continue;
        const bool asked = is_asked(task, phase);
        stroke_way(cairo, place, task.attack, i, asked, asked ? colour_of(phase.phase, colours) : colours.hip_line);
        const bool way_up = phase.phase == Phase::lift, way_down = phase.phase == Phase::drop;
        if (!asked && (way_up || way_down)) draw_arrow(cairo, place, task.attack, i, colours.quiet);
    }
}

/// A foot from above, `length` long: a disc at the heel, a larger one at the toes. `ahead` +1: the toes to the right.
void draw_sole(cairo_t* cairo, Point middle, double length, double ahead, bool full, const Palette& colours) {
    const double heel = 0.165 * length, ball = 0.235 * length;
    const Point back{middle.x - ahead * (length / 2 - heel), middle.y};
    const Point front{middle.x + ahead * (length / 2 - ball), middle.y};
    fill_tapered_bar(cairo, front, ball, back, heel, full ? colours.text : colours.figure);
    if (full) return;
    const double line = 0.055 * length;
    fill_tapered_bar(cairo, front, ball - line, back, heel - line, colours.ground);
}

}  // namespace

void draw_task_figure(cairo_t* cairo, const FigurePlace& place, const TaskFigure& task, const Palette& colours) {
    draw_closed_zone(cairo, place, colours, true);
    draw_ways(cairo, place, task, colours);
    FigurePose pose = figure_pose(task.attack, posed_at(task));
    pose.trail.clear();
    pose.lean = task.leans ? 1 : 0;
    pose.watched = task.leans;
    draw_figure(cairo, place, pose, colours);
    draw_landing(cairo, place, task, colours);
    draw_clash_sign(cairo, place, task.around, colours);
}

void draw_strike_on_time(cairo_t* cairo, const FigurePlace& place, bool around, const Palette& colours) {
    const double h = place.height, line = 0.043 * h;
    const double x = place.hip.x + place.towards * 1.885 * h, y = place.hip.y + 0.404 * h;
    const double floor = place.hip.y + h, from = x + place.towards * 0.433 * h;
    stroke_line(cairo, {x, y}, {x, floor + line / 2}, line, colours.text);
    stroke_line(cairo, {x, floor}, {from, floor}, line, colours.text);
    stroke_line(cairo, {from, floor - 0.072 * h}, {from, floor + 0.072 * h}, line, colours.text);
    fill_disc(cairo, {x, y}, 0.33 * h, colours.ground);
    draw_verdict_shape(cairo, around ? Verdict::around : Verdict::on_time, {x, y}, 0.567 * h, colours, false);
    const double base = x - place.towards * 0.365 * h, tip = x - place.towards * 0.54 * h;
    cairo_new_path(cairo);
    cairo_move_to(cairo, tip, y);
    cairo_line_to(cairo, base, y - 0.144 * h);
    cairo_line_to(cairo, base, y + 0.144 * h);
    cairo_close_path(cairo);
    set_colour(cairo, colours.text);
    cairo_fill(cairo);
}

void draw_pads(cairo_t* cairo, double left, double top, double side, PadSet right, const Palette& colours) {
    const auto ring = [&](double x, double y, double size, double line) {
        cairo_rectangle(cairo, x + line / 2, y + line / 2, size - line, size - line);
        cairo_set_line_width(cairo, line);
        set_colour(cairo, colours.hip_line);
        cairo_stroke(cairo);
    };
    ring(left, top, side, 0.018 * side);
    const double pad = 0.365 * side, edge = 0.09 * side, apart = side - 2 * edge - pad;
    for (const PadRole role : {PadRole::high_left, PadRole::high_right, PadRole::low_left, PadRole::low_right}) {
        const bool is_right = role == PadRole::high_right || role == PadRole::low_right;
        const bool is_low = role == PadRole::low_left || role == PadRole::low_right;
        const double x = left + edge + (is_right ? apart : 0), y = top + edge + (is_low ? apart : 0);
        if (right == 0 || (right & pad_bit(role)) != 0)
            fill_box(cairo, x, y, pad, pad, colours.text);
        else
            ring(x, y, pad, 0.024 * side);
    }
}

const char* words_of_pads(PadSet right) {
    constexpr PadSet high = pad_bit(PadRole::high_left) | pad_bit(PadRole::high_right);
    constexpr PadSet low = pad_bit(PadRole::low_left) | pad_bit(PadRole::low_right);
    constexpr PadSet left = pad_bit(PadRole::high_left) | pad_bit(PadRole::low_left);
    switch (right) {
        case 0:
        case high | low:
            return "any pad";
        case high:
            return "high";
        case low:
            return "low";
        case left:
            return "left";
        case (high | low) & ~left:
            return "right";
        case pad_bit(PadRole::high_left):
            return "high left";
        case pad_bit(PadRole::high_right):
            return "high right";
        case pad_bit(PadRole::low_left):
            return "low left";
        case pad_bit(PadRole::low_right):
            return "low right";
        default:
            return "full ones";
    }
}

void draw_feet(cairo_t* cairo, double left, double top, double width, const Feet& feet, const Palette& colours) {
    const double sole = 0.205 * width, rows = 0.19 * width, middle = left + width / 2;
    const double first = 0.148 * width + 0.005 * width, step = 0.25 * width;
    // Facing the left, the right foot is the upper one; facing the right, the lower one.
    const auto stand = [&](double side, Side front, bool full) {
        const double ahead = -side;
        for (const Side which : {Side::left, Side::right}) {
            const bool upper = (which == Side::right) == (ahead < 0);
            const double from_middle = first + (which == front ? 0 : step);
            draw_sole(cairo, {middle + side * from_middle, top + sole / 4 + (upper ? 0 : rows)}, sole, ahead, full,
                      colours);
        }
    };
    stand(feet.towards, feet.athlete_front, true);
    stand(-feet.towards, feet.opponent_front, false);
    const double y = top + sole / 4 + rows / 2;
    stroke_line(cairo, {middle - 0.036 * width, y}, {middle + 0.036 * width, y}, 0.009 * width, colours.hip_line);
}

}  // namespace breakstep
