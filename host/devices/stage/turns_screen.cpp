#include <cairo.h>

#include <algorithm>
#include <string>

#include "devices/stage/screens.hpp"
#include "devices/stage/speech.hpp"
#include "report/drawing/shapes.hpp"
#include "report/drawing/text.hpp"

namespace breakstep {
namespace {

constexpr double queue_width = 34;  // units, at the right
constexpr double queue_gap = 4.8;   // either side of the line before it

void draw_head(const Canvas& canvas, const StageView& view) {
    draw_text(canvas.cairo, view.turns.club, canvas.left(), canvas.u(6.6),
              {canvas.u(3.03), Weight::semibold, canvas.colours.text});
    draw_saved_sign(canvas, view, 6.6);
}

void draw_next(const Canvas& canvas, const StageView& view, HostTime shown_at) {
    const StageTurns& turns = view.turns;
    const Palette& colours = canvas.colours;
    const bool queued = !turns.follows.empty();
    const double room = canvas.right() - canvas.left() - (queued ? canvas.u(queue_width + 2 * queue_gap) : 0);
    if (!turns.next.empty()) {
        draw_text(canvas.cairo, "next", canvas.left(), canvas.u(15.6), {canvas.u(3.6), Weight::regular, colours.quiet});
        const double size = fitting_size(turns.next, room, canvas.u(16.4), canvas.u(8), Weight::bold);
        draw_text(canvas.cairo, shortened(turns.next, room, size, Weight::bold), canvas.left() - 0.03 * size,
                  canvas.u(31.2), {size, Weight::bold, colours.text});
    }
    const double drill = fitting_size(turns.drill, room, canvas.u(3.4), canvas.u(3.03), Weight::regular);
    draw_text(canvas.cairo, shortened(turns.drill, room, drill, Weight::regular), canvas.left(), canvas.u(37.6),
              {drill, Weight::regular, colours.quiet});
    if (view.message) {
        const double size = fitting_size(view.message->what, room, canvas.u(4.2), canvas.u(3.03), Weight::semibold);
        draw_text(canvas.cairo, view.message->what, canvas.left(), canvas.u(44.2),
                  {size, Weight::semibold, colours.text});
        const double next = fitting_size(view.message->to_do, room, canvas.u(3.4), canvas.u(3.03), Weight::regular);
        draw_text(canvas.cairo, view.message->to_do, canvas.left(), canvas.u(49),
                  {next, Weight::regular, colours.text});
        return;
    }
    if (turns.prompt.empty() && !view.count) return;
    const int lit = view.count ? lamps_lit(*view.count, shown_at) : 0;
    draw_lamps(canvas, canvas.left() + canvas.u(1.6), canvas.u(45.2), canvas.u(1.5), canvas.u(4.8), lit);
    const double prompt =
        fitting_size(turns.prompt, room - canvas.u(15.6), canvas.u(4.2), canvas.u(3.03), Weight::semibold);
    draw_text(canvas.cairo, turns.prompt, canvas.left() + canvas.u(15.6), canvas.u(46.7),
              {prompt, Weight::semibold, colours.text});
}

/// A change on the rig before a turn: a dashed line across the queue, and what to change under it.
double draw_change(const Canvas& canvas, const std::string& what, double left, double y) {
    const double dashes[] = {canvas.u(0.9), canvas.u(0.7)};
    cairo_save(canvas.cairo);
    cairo_set_dash(canvas.cairo, dashes, 2, 0);
    stroke_line(canvas.cairo, {left, canvas.u(y + 2.6)}, {canvas.right(), canvas.u(y + 2.6)}, canvas.u(0.25),
                canvas.colours.quiet);
    cairo_restore(canvas.cairo);
    draw_text(canvas.cairo, shortened(what, canvas.right() - left, canvas.u(3.03), Weight::regular), left,
              canvas.u(y + 6), {canvas.u(3.03), Weight::regular, canvas.colours.quiet});
    return 6.4;
}

void draw_queue(const Canvas& canvas, const StageTurns& turns) {
    if (turns.follows.empty()) return;
    const double left = canvas.right() - canvas.u(queue_width);
    const Palette& colours = canvas.colours;
    stroke_line(canvas.cairo, {left - canvas.u(queue_gap), canvas.u(13)}, {left - canvas.u(queue_gap), canvas.u(47)},
                canvas.u(0.2), colours.dim);
    draw_text(canvas.cairo, "follows", left, canvas.u(15.6), {canvas.u(3.6), Weight::regular, colours.quiet});
    constexpr double lowest = 48;
    double y = 16;
    bool first = true;
    for (const TurnRow& turn : turns.follows) {
        if (!turn.before.empty() && y + 12.6 <= lowest) y += draw_change(canvas, turn.before, left, y);
        y += first ? 6.4 : 6.2;
        if (y > lowest) return;
        const double size = canvas.u(first ? 5.2 : 3.8);
        const Weight weight = first ? Weight::bold : Weight::regular;
        const std::string wait = std::to_string(turn.wait_minutes) + " min";
        const double used = draw_text(canvas.cairo, wait, canvas.right(), canvas.u(y),
                                      {canvas.u(3.2), Weight::regular, colours.quiet}, Anchor::end);
        const double room = canvas.u(queue_width) - used - canvas.u(1.5);
        draw_text(canvas.cairo, shortened(turn.athlete, room, size, weight), left, canvas.u(y),
                  {size, weight, colours.text});
        first = false;
    }
}

void draw_block(const Canvas& canvas, const EveningBlock& block, double x, double width, bool under_way) {
    const Palette& colours = canvas.colours;
    const double line = canvas.u(0.15);
    const double done = std::clamp(block.done, 0.0, 1.0);
    cairo_rectangle(canvas.cairo, x + line / 2, canvas.u(58.8) + line / 2, width - line, canvas.u(2) - line);
    cairo_set_line_width(canvas.cairo, line);
    set_colour(canvas.cairo, done >= 1 ? colours.text : colours.hip_line);
    cairo_stroke(canvas.cairo);
    fill_box(canvas.cairo, x, canvas.u(58.8), width * done, canvas.u(2), colours.text);
    if (under_way)
        fill_box(canvas.cairo, x + width * done - canvas.u(0.15), canvas.u(57.8), canvas.u(0.3), canvas.u(4),
                 colours.text);
    draw_text(canvas.cairo, shortened(block.name, width - canvas.u(0.4), canvas.u(2.6), Weight::regular), x,
              canvas.u(65),
              {canvas.u(2.6), under_way ? Weight::semibold : Weight::regular, under_way ? colours.text : colours.quiet,
               TextRole::strip});
}

void draw_evening(const Canvas& canvas, const StageTurns& turns) {
    if (turns.turns > 0)
        draw_text(canvas.cairo, std::to_string(turns.turns_done) + " of " + std::to_string(turns.turns) + " turns done",
                  canvas.left(), canvas.u(56.4), {canvas.u(3.03), Weight::regular, canvas.colours.quiet});
    if (turns.minutes_left > 0)
        draw_text(canvas.cairo, std::to_string(turns.minutes_left) + " min left", canvas.right(), canvas.u(56.4),
                  {canvas.u(3.6), Weight::semibold, canvas.colours.text}, Anchor::end);
    int whole = 0;
    for (const EveningBlock& block : turns.evening) whole += std::max(block.minutes, 0);
    if (whole == 0) return;
    const double gap = canvas.u(0.5);
    const double room = canvas.right() - canvas.left() - gap * static_cast<double>(turns.evening.size() - 1);
    double x = canvas.left();
    bool found = false;
    for (const EveningBlock& block : turns.evening) {
        const double width = room * std::max(block.minutes, 0) / whole;
        const bool under_way = !found && block.done < 1;
        found = found || under_way;
        draw_block(canvas, block, x, width, under_way);
        x += width + gap;
    }
}

}  // namespace

void draw_turns_screen(const Canvas& canvas, const StageView& view, HostTime shown_at) {
    draw_head(canvas, view);
    draw_next(canvas, view, shown_at);
    draw_queue(canvas, view.turns);
    draw_evening(canvas, view.turns);
}

}  // namespace breakstep
