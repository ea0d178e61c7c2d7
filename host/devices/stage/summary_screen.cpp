// After a turn: how it went and who is next. It stands until somebody strikes.
#include <algorithm>
#include <string>

#include "devices/stage/screens.hpp"
#include "report/drawing/shapes.hpp"
#include "report/drawing/text.hpp"
#include "report/drawing/verdict_shape.hpp"

namespace breakstep {
namespace {

constexpr double least = 4.2 * 0.72;  // units: what is acted on, 4.2 % of the height
constexpr double left_column = 43;    // of counts and shapes
constexpr double divider = 55.5;
constexpr double strip_left = 58.8, strip_to_words = 26;

void draw_head(const Canvas& canvas, const StageView& view) {
    const Palette& colours = canvas.colours;
    constexpr double size = 4.6, baseline = 7;
    const std::string name = shortened(view.athlete, canvas.u(60), canvas.u(size), Weight::semibold);
    const double used = draw_text(canvas.cairo, name, canvas.left(), canvas.u(baseline),
                                  {canvas.u(size), Weight::semibold, colours.text});
    draw_text(canvas.cairo, "turn done", canvas.left() + used + canvas.u(2.6), canvas.u(baseline),
              {canvas.u(4), Weight::regular, colours.quiet});
    draw_saved_sign(canvas, view, baseline);
}

void draw_advice(const Canvas& canvas, const StageView& view) {
    const Palette& colours = canvas.colours;
    const double room = canvas.right() - canvas.left(), baseline = canvas.u(14.4);
    if (view.message) {
        const std::string said = view.message->what + " " + view.message->to_do;
        const double size = fitting_size(said, room, canvas.u(5.2), canvas.u(least), Weight::bold);
        draw_text(canvas.cairo, shortened(said, room, size, Weight::bold), canvas.left(), baseline,
                  {size, Weight::bold, colours.text});
        return;
    }
    const StageSummary& summary = view.summary;
    const double size = fitting_size(summary.advice, room, canvas.u(5.2), canvas.u(least), Weight::bold);
    const std::string advice = shortened(summary.advice, room, size, Weight::bold);
    const double used =
        draw_text(canvas.cairo, advice, canvas.left(), baseline, {size, Weight::bold, colours.text}) + canvas.u(2.4);
    // Beside it as large as fits, at least what is read from four metres; else it is left out: the advice is what
    // counts.
    const double rest = room - used;
    const double reason = fitting_size(summary.reason, rest, canvas.u(3.6), canvas.u(least), Weight::regular);
    if (rest > 0 && text_width(summary.reason, reason, Weight::regular) <= rest)
        draw_text(canvas.cairo, summary.reason, canvas.left() + used, baseline,
                  {reason, Weight::regular, colours.quiet});
}

/// The reps' own shapes in a row, as many as there are, in the colour of each or all in quiet.
void draw_answers(const Canvas& canvas, const std::vector<Verdict>& answers, double y, double size, bool quiet) {
    if (answers.empty()) return;
    Palette colours = canvas.colours;
    if (quiet) colours.good = colours.bad = colours.held = colours.quiet;
    const double step = std::min(canvas.u(4.4), canvas.u(left_column) / static_cast<double>(answers.size()));
    const double fits = std::min(canvas.u(size), step * 0.8);
    double x = canvas.left() + step * 0.42;
    for (const Verdict verdict : answers) {
        draw_verdict_shape(canvas.cairo, verdict, {x, canvas.u(y)}, fits, colours, fits < 24);
        x += step;
    }
}

/// A large number with two lines beside it.
void draw_number(const Canvas& canvas, int number, const std::string& first, const std::string& second) {
    const Palette& colours = canvas.colours;
    const double used = draw_text(canvas.cairo, std::to_string(number), canvas.left() - canvas.u(0.8), canvas.u(31.6),
                                  {canvas.u(18), Weight::bold, colours.text});
    const double beside = canvas.left() + used + canvas.u(1.6);
    draw_text(canvas.cairo, first, beside, canvas.u(25), {canvas.u(5.2), Weight::semibold, colours.text});
    draw_text(canvas.cairo, second, beside, canvas.u(31.2), {canvas.u(5.2), Weight::semibold, colours.text});
}

void draw_counts(const Canvas& canvas, const StageSummary& summary) {
    const Palette& colours = canvas.colours;
    if (summary.of <= 0) {
        if (summary.best_run >= 2) draw_number(canvas, summary.best_run, "good ones", "in a row");
        return;
    }
    draw_number(canvas, summary.on_time, "of " + std::to_string(summary.of), "on time");
    draw_answers(canvas, summary.answers, 36.2, 3.4, false);
    if (summary.last_of <= 0) return;
    const std::string last =
        "last time " + std::to_string(summary.last_on_time) + " of " + std::to_string(summary.last_of);
    draw_text(canvas.cairo, last, canvas.left(), canvas.u(43.4), {canvas.u(3.6), Weight::regular, colours.quiet});
    draw_answers(canvas, summary.last_answers, 46.4, 2.4, true);
    draw_text(canvas.cairo, summary.compared, canvas.left(), canvas.u(53),
              {canvas.u(3.6), Weight::semibold, colours.text});
}

void draw_strip(const Canvas& canvas, const StageSummary& summary) {
    if (summary.reps.empty()) return;
    PhaseStripLayout layout;
    layout.left = canvas.u(strip_left);
    layout.top = canvas.u(20.2);
    layout.width = canvas.right() - canvas.u(strip_left) - canvas.u(strip_to_words - 6);
    layout.unit = canvas.unit;
    layout.to = strip_end_for(summary.reps);
    layout.axis_words = false;
    const double room = divider - 20.2 - 1.2;
    const double fixed = phase_strip_height(layout, 1) / canvas.unit;
    const auto rows = static_cast<double>(summary.reps.size());
    if (rows > 1) layout.pitch = std::min(2.85, (room - fixed) / (rows - 1));
    draw_phase_strip(canvas.cairo, summary.reps, layout, canvas.theme);
    const double toe_off = static_cast<double>((-layout.from).count()) /
                           static_cast<double>((layout.to - layout.from).count()) * layout.width;
    draw_phase_legend(canvas.cairo, layout.left + toe_off, canvas.u(18.4), canvas.unit, canvas.theme);
}

void draw_next(const Canvas& canvas, const StageView& view) {
    const StageSummary& summary = view.summary;
    const Palette& colours = canvas.colours;
    stroke_line(canvas.cairo, {canvas.left(), canvas.u(divider)}, {canvas.right(), canvas.u(divider)}, canvas.u(0.2),
                colours.dim);
    if (!view.notice.empty()) draw_notice(canvas, view, 71.2);
    if (summary.next.empty()) {
        draw_text(
            canvas.cairo, summary.prompt, canvas.left(), canvas.u(64),
            {fitting_size(summary.prompt, canvas.right() - canvas.left(), canvas.u(4.6), canvas.u(least), Weight::bold),
             Weight::bold, colours.text});
        return;
    }
    constexpr double name_room = 46.5;
    const double size =
        fitting_size(summary.next, canvas.u(name_room - 0.5), canvas.u(13.4), canvas.u(4), Weight::bold);
    draw_text(canvas.cairo, shortened(summary.next, canvas.u(name_room), size, Weight::bold),
              canvas.left() - 0.03 * size, canvas.u(67.6), {size, Weight::bold, colours.text});
    const double beside = canvas.left() + canvas.u(name_room + 2.4);
    draw_text(canvas.cairo, "next", beside, canvas.u(61.2), {canvas.u(3.6), Weight::regular, colours.quiet});
    if (!summary.then.empty()) {
        const std::string then = "then " + summary.then;
        draw_text(canvas.cairo, shortened(then, canvas.u(40), canvas.u(3.4), Weight::regular), canvas.right(),
                  canvas.u(61.2), {canvas.u(3.4), Weight::regular, colours.quiet}, Anchor::end);
    }
    if (summary.prompt.empty()) return;
    draw_lamps(canvas, beside + canvas.u(1.8), canvas.u(66.2), canvas.u(1.6), canvas.u(5.4), 0);
    const double words = beside + canvas.u(16.4), room = canvas.right() - words;
    const double fits = fitting_size(summary.prompt, room, canvas.u(3.9), canvas.u(least), Weight::bold);
    draw_text(canvas.cairo, shortened(summary.prompt, room, fits, Weight::bold), words, canvas.u(67.6),
              {fits, Weight::bold, colours.text});
}

}  // namespace

void draw_summary_screen(const Canvas& canvas, const StageView& view) {
    draw_head(canvas, view);
    draw_advice(canvas, view);
    draw_counts(canvas, view.summary);
    draw_strip(canvas, view.summary);
    draw_next(canvas, view);
}

}  // namespace breakstep
