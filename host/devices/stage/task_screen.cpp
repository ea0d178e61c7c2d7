// The task before a set: what is asked, drawn as the strip draws it. Gone at the first lamp.
#include <string>

#include "devices/stage/screens.hpp"
#include "devices/stage/speech.hpp"
#include "report/drawing/task_figure.hpp"
#include "report/drawing/text.hpp"
#include "report/drawing/verdict_shape.hpp"

namespace breakstep {
namespace {

constexpr double room_right = 78.8, divider = 82.8, what_left = 87.2;  // units
constexpr double hip_line = 34, hip_from_edge = 23.6, hip_height = 20.8;
constexpr double least = 4.2 * 0.72;  // what is acted on: 4.2 % of the height

void draw_head(const Canvas& canvas, const StageView& view, const StageTask& task) {
    const Palette& colours = canvas.colours;
    constexpr double size = 4.6, baseline = 7;
    double right = canvas.right();
    if (task.sets > 0) {
        const std::string set = "set " + std::to_string(task.set) + " of " + std::to_string(task.sets);
        right -= draw_text(canvas.cairo, set, right, canvas.u(baseline),
                           {canvas.u(size), Weight::regular, colours.quiet}, Anchor::end) +
                 canvas.u(3.4);
    }
    const std::string length = task.round > Duration{} ? std::to_string(task.round / 1s) + " s"
                               : task.reps == 1        ? "1 rep"
                                                       : std::to_string(task.reps) + " reps";
    right -= draw_text(canvas.cairo, length, right, canvas.u(baseline), {canvas.u(size), Weight::bold, colours.text},
                       Anchor::end);
    const double room = right - canvas.left() - canvas.u(2);
    draw_text(canvas.cairo, shortened(view.athlete, room, canvas.u(size), Weight::semibold), canvas.left(),
              canvas.u(baseline), {canvas.u(size), Weight::semibold, colours.text});
    const double wide = canvas.right() - canvas.left();
    const double fits = fitting_size(task.says, wide, canvas.u(5.6), canvas.u(least), Weight::bold);
    draw_text(canvas.cairo, task.says, canvas.left(), canvas.u(14.2), {fits, Weight::bold, colours.text});
}

/// The athlete's place, one step outside.
void draw_you(const Canvas& canvas, double towards) {
    const double middle = towards > 0 ? 71.8 : room_right + 6 - 71.8;
    fill_box(canvas.cairo, canvas.u(middle - 5.8), canvas.u(57.2), canvas.u(11.6), canvas.u(2.2), canvas.colours.text);
    // Beside it: beneath stands what to do.
    draw_text(canvas.cairo, "you", canvas.u(middle - towards * 7.2), canvas.u(59.4),
              {canvas.u(3.2), Weight::semibold, canvas.colours.text}, towards > 0 ? Anchor::end : Anchor::start);
}

/// What else is asked, where the place for it is taken: under the floor, on the opponent's side.
void draw_also(const Canvas& canvas, const StageTask& task, double towards) {
    if (!task.feints || task.also.empty()) return;
    constexpr double you_begins = 57;
    const double near = towards > 0 ? canvas.left() : canvas.u(room_right + 6 - you_begins);
    const double far = towards > 0 ? canvas.u(you_begins) : canvas.u(room_right);
    const double size = fitting_size(task.also, far - near, canvas.u(3.6), canvas.u(least), Weight::medium);
    draw_text(canvas.cairo, shortened(task.also, far - near, size, Weight::medium), near, canvas.u(60.2),
              {size, Weight::medium, canvas.colours.text});
}

void draw_lines(const Canvas& canvas, double towards) {
    const Palette& colours = canvas.colours;
    const double from = canvas.left(), to = canvas.u(room_right);
    stroke_line(canvas.cairo, {from, canvas.u(hip_line)}, {to, canvas.u(hip_line)}, canvas.u(0.3), colours.hip_line);
    const double floor = canvas.u(hip_line + hip_height);
    stroke_line(canvas.cairo, {from, floor}, {to, floor}, canvas.u(0.24), colours.hip_line);
    draw_text(canvas.cairo, "hip", towards > 0 ? to : from, canvas.u(hip_line - 1.4),
              {canvas.u(least), Weight::regular, colours.quiet}, towards > 0 ? Anchor::end : Anchor::start);
}

void draw_room(const Canvas& canvas, const StageTask& task, std::optional<Duration> watched) {
    const double towards = task.opponent_lead == Side::right ? 1 : -1;
    const double hip_x = towards > 0 ? hip_from_edge : room_right + 6 - hip_from_edge;
    const FigurePlace place{{canvas.u(hip_x), canvas.u(hip_line)}, canvas.u(hip_height), towards};
    if (!watched) {
        // The lines lie under the drawing: the sector stands on them.
        draw_lines(canvas, towards);
        draw_task_figure(canvas.cairo, place, {task.attack, task.moments, task.around, task.leans}, canvas.colours);
        if (task.strikes) draw_strike_on_time(canvas.cairo, place, task.around, canvas.colours);
        draw_you(canvas, towards);
        draw_also(canvas, task, towards);
        return;
    }
    FigurePose pose = figure_pose(task.attack, *watched);
    pose.watched = task.leans;
    draw_closed_zone(canvas.cairo, place, canvas.colours);
    draw_trail(canvas.cairo, place, pose, canvas.colours);
    draw_lines(canvas, towards);
    draw_figure(canvas.cairo, place, pose, canvas.colours);
    draw_you(canvas, towards);
    draw_also(canvas, task, towards);
}

const char* words_of(Counter counter) {
    switch (counter) {
        case Counter::front_hand:
            return "front hand";
        case Counter::back_hand:
            return "back hand";
        case Counter::front_leg:
            return "front leg";
        case Counter::back_leg:
            return "back leg";
        case Counter::spin:
            return "spin";
    }
    return "";
}

void draw_strike(const Canvas& canvas, const StageTask& task, double left) {
    const Palette& colours = canvas.colours;
    draw_text(canvas.cairo, words_of(task.counter), left, canvas.u(21.8), {canvas.u(5.8), Weight::bold, colours.text});
    draw_pads(canvas.cairo, left, canvas.u(24.6), canvas.u(15.8), task.pads, colours);
    const std::string pads = words_of_pads(task.pads);
    const double beside = left + canvas.u(18.4), pad_size = canvas.u(4.2);
    const auto space = pads.find(' ');
    draw_text(canvas.cairo, pads.substr(0, space), beside, canvas.u(space == std::string::npos ? 34 : 31.4),
              {pad_size, Weight::semibold, colours.text});
    if (space != std::string::npos)
        draw_text(canvas.cairo, pads.substr(space + 1), beside, canvas.u(36.2),
                  {pad_size, Weight::semibold, colours.text});
}

void draw_what(const Canvas& canvas, const StageTask& task) {
    const Palette& colours = canvas.colours;
    const double left = canvas.right() - canvas.u(122 - what_left);
    if (task.strikes)
        draw_strike(canvas, task, left);
    else
        draw_text(canvas.cairo, "no strike", left, canvas.u(21.8), {canvas.u(5.8), Weight::bold, colours.text});
    const double towards = task.opponent_lead == Side::right ? 1 : -1;
    draw_feet(canvas.cairo, left, canvas.u(44.4), canvas.u(34.8), {task.athlete_lead, task.opponent_lead, towards},
              colours);
    const std::string foot = task.athlete_lead == Side::right ? "right foot in front" : "left foot in front";
    draw_text(canvas.cairo, foot, left, canvas.u(59.2), {canvas.u(3.8), Weight::semibold, colours.text});
    if (task.both_leads)
        draw_text(canvas.cairo, "it changes its side", left, canvas.u(62.6),
                  {canvas.u(3.1), Weight::medium, colours.text});
}

void draw_start(const Canvas& canvas, const StageTask& task, bool watching) {
    const Palette& colours = canvas.colours;
    const double left = canvas.right() - canvas.u(122 - what_left);
    // A caution takes the lowest line; the start moves up beside the athlete's place.
    const double baseline = task.caution.empty() ? 69 : 67.2;
    double right = canvas.right();
    if (task.feints) {
        draw_verdict_shape(canvas.cairo, Verdict::held, {left + canvas.u(2), canvas.u(baseline - 1.6)}, canvas.u(4.1),
                           colours, false);
        draw_text(canvas.cairo, "a feint: hold still", left + canvas.u(5.6), canvas.u(baseline),
                  {canvas.u(3.6), Weight::medium, colours.text});
        right = left - canvas.u(1.5);
    } else if (!task.also.empty()) {
        const double size =
            fitting_size(task.also, canvas.right() - left, canvas.u(3.6), canvas.u(least), Weight::medium);
        draw_text(canvas.cairo, shortened(task.also, canvas.right() - left, size, Weight::medium), left,
                  canvas.u(baseline), {size, Weight::medium, colours.text});
        right = left - canvas.u(1.5);
    }
    draw_lamps(canvas, canvas.left() + canvas.u(1.8), canvas.u(baseline - 1.6), canvas.u(1.6), canvas.u(4.9), 0);
    const double words = canvas.left() + canvas.u(15.6), room = right - words;
    // Who starts while the look runs has read what is asked all the same.
    const std::string prompt =
        watching && task.prompt == StageTask{}.prompt ? "Watch first, then strike a pad." : task.prompt;
    const double size = fitting_size(prompt, room, canvas.u(4.6), canvas.u(least), Weight::bold);
    draw_text(canvas.cairo, shortened(prompt, room, size, Weight::bold), words, canvas.u(baseline),
              {size, Weight::bold, colours.text});
    if (task.caution.empty()) return;
    const double wide = canvas.right() - canvas.left();
    const double fits = fitting_size(task.caution, wide, canvas.u(3.1), canvas.u(least), Weight::medium);
    draw_text(canvas.cairo, shortened(task.caution, wide, fits, Weight::medium), canvas.left(), canvas.u(71.2),
              {fits, Weight::medium, colours.text});
}

}  // namespace

void draw_task_screen(const Canvas& canvas, const StageView& view, HostTime shown_at) {
    const StageTask& task = view.task;
    const auto watched = watched_at(task, shown_at);
    draw_head(canvas, view, task);
    draw_room(canvas, task, watched);
    stroke_line(canvas.cairo, {canvas.right() - canvas.u(122 - divider), canvas.u(17.8)},
                {canvas.right() - canvas.u(122 - divider), canvas.u(60)}, canvas.u(0.2), canvas.colours.dim);
    draw_what(canvas, task);
    draw_start(canvas, task, watched.has_value());
}

}  // namespace breakstep
