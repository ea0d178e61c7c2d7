#include <cairo.h>

#include <algorithm>
#include <string>
#include <vector>

#include "devices/stage/screens.hpp"
#include "devices/stage/speech.hpp"
#include "report/drawing/shapes.hpp"
#include "report/drawing/text.hpp"
#include "report/drawing/verdict_shape.hpp"
#include "report/drawing/verdict_words.hpp"

namespace breakstep {
namespace {

constexpr double full_size = 18.9 * 0.72;         // units: capitals of 13.7 % of the height
constexpr double least_size = 12.0 / 72.75 * 72;  // capitals of 12 %
constexpr double baseline = 22.3;
constexpr double second_baseline = 27.9;
constexpr double apart = 0.9;        // further up where a letter of the large word hangs below its line ...
constexpr double apart_below = 0.4;  // ... and the second line down: its own tails stay clear of the hip
constexpr double second_size = 6.7 * 0.72;
constexpr double shape_share = 1.24;  // of the capitals' height
constexpr double gap_share = 0.30;    // of the size, between shape and word

/// Everything that is said this large: a shape drawn by `draw(left, middle, size)`, and a word or two.
struct Large {
    std::string words;
    Colour colour;
    double shape_in_sizes;  // its width, in shape sizes
};

double width_of(const Large& large, const std::string& words, double size) {
    const double shape = large.shape_in_sizes * shape_share * capital_height * size;
    return shape + (shape > 0 ? gap_share * size : 0) + text_width(words, size, Weight::bold);
}

bool hangs(const std::string& words) { return words.find_first_of("gjpqy") != std::string::npos; }

/// Where the words go: one line as large as fits, else two at the least size.
struct Setting {
    double size;
    std::vector<std::string> lines;
};

Setting set_words(const Canvas& canvas, const Large& large) {
    const double room = canvas.right() - canvas.left();
    double size = canvas.u(full_size);
    const double needed = width_of(large, large.words, size);
    if (needed > room) size *= room / needed;
    if (size >= canvas.u(least_size)) return {size, {large.words}};
    const auto space = large.words.find(' ');
    if (space == std::string::npos) return {size, {large.words}};
    const std::string first = large.words.substr(0, space);
    const std::string second = large.words.substr(space + 1);
    const double least = canvas.u(least_size);
    const double wider = std::max(width_of(large, first, least), width_of(large, second, least));
    return {wider > room ? least * room / wider : least, {first, second}};
}

/// Draws the words, centred together with their shape; returns the shape's left edge, middle height and size.
struct ShapePlace {
    double left;
    double middle;
    double size;
};

ShapePlace draw_large(const Canvas& canvas, const Large& large, const Setting& setting) {
    double widest = 0;
    for (const std::string& line : setting.lines) widest = std::max(widest, width_of(large, line, setting.size));
    const double left = canvas.middle() - widest / 2;
    const double shape = shape_share * capital_height * setting.size;
    const double words =
        left + large.shape_in_sizes * shape + (large.shape_in_sizes > 0 ? gap_share * setting.size : 0);
    const double line_height = setting.size * 0.95;
    const bool two = setting.lines.size() > 1;
    double at = canvas.u(baseline - (!two && hangs(large.words) ? apart : 0)) - (two ? 0.45 * line_height : 0);
    const double middle =
        at + static_cast<double>(setting.lines.size() - 1) * line_height / 2 - capital_height * setting.size / 2;
    for (const std::string& line : setting.lines) {
        draw_text(canvas.cairo, line, words, at, {setting.size, Weight::bold, large.colour});
        at += line_height;
    }
    return {left, middle, shape};
}

void draw_second_line(const Canvas& canvas, std::vector<TextRun> runs, const Setting& setting, double strength) {
    if (runs.empty()) return;
    for (TextRun& run : runs) run.colour = blend(canvas.colours.ground, run.colour, strength);
    // Two large lines take its place; it then goes under the hip line, where the limb is quiet.
    const double beside = second_baseline + (hangs(setting.lines.front()) ? apart_below : 0);
    const double y = canvas.u(setting.lines.size() > 1 ? 40 : beside);
    double width = 0;
    for (const TextRun& run : runs) width += text_width(run.text, canvas.u(second_size), run.weight);
    const double room = canvas.right() - canvas.left();
    const double size = canvas.u(second_size) * std::min(1.0, room / std::max(1.0, width));
    draw_runs(canvas.cairo, runs, canvas.middle(), y, size, Anchor::middle);
}

void draw_verdict(const Canvas& canvas, const StageVerdict& verdict, double strength) {
    Palette faded = canvas.colours;
    for (Colour* colour : {&faded.good, &faded.bad, &faded.held, &faded.quiet})
        *colour = blend(faded.ground, *colour, strength);
    const Large large{spoken(verdict.verdict), colour_of(verdict.verdict, faded), shape_width(verdict.verdict, 1)};
    const Setting setting = set_words(canvas, large);
    const ShapePlace shape = draw_large(canvas, large, setting);
    draw_verdict_shape(canvas.cairo, verdict.verdict,
                       {shape.left + shape_width(verdict.verdict, shape.size) / 2, shape.middle}, shape.size, faded,
                       shape.size < 24);
    const VerdictFacts facts{verdict.verdict,      verdict.asked, verdict.struck,   verdict.reason,
                             verdict.nothing_came, verdict.room,  verdict.retreated};
    std::vector<TextRun> second = second_line(facts, canvas.colours);
    if (!verdict.beside.empty())
        second.push_back({(second.empty() ? "" : ", ") + verdict.beside, Weight::semibold, canvas.colours.text});
    draw_second_line(canvas, std::move(second), setting, strength);
}

void draw_nudge(const Canvas& canvas, const StageNudge& nudge, double strength) {
    const Colour colour = blend(canvas.colours.ground, canvas.colours.nudge, strength);
    const Large large{nudge.words, colour, entry_bars_width(nudge.entries, 1)};
    const Setting setting = set_words(canvas, large);
    const ShapePlace shape = draw_large(canvas, large, setting);
    draw_entry_bars(canvas.cairo, nudge.entries, shape.left, shape.middle, shape.size, colour);
    draw_second_line(canvas,
                     {{"can be timed: ", Weight::regular, canvas.colours.quiet},
                      {std::string(word(nudge.sign)), Weight::bold, canvas.colours.nudge}},
                     setting, strength);
}

// The athlete's steps in above, where the opponent expected them below, at their true distances; joined where it came
// within half a tau of the step. In units, at the words' full size.
constexpr double lure_bar = 1.6, lure_half = 5.6, lure_between = 1.2, lure_a_second = 5.2, lure_widest = 34;
constexpr Duration lure_joined = 150ms;

struct LureBars {
    double a_second = lure_a_second, width = 0;  ///< units
    Duration first{};
};

LureBars lure_bars(const StageLure& lure) {
    LureBars bars;
    std::vector<Duration> all = lure.yours;
    all.insert(all.end(), lure.its.begin(), lure.its.end());
    if (all.empty()) return bars;
    const auto [least, most] = std::minmax_element(all.begin(), all.end());
    bars.first = *least;
    const double seconds = static_cast<double>((*most - *least).count()) / 1e9;
    if (seconds * bars.a_second > lure_widest) bars.a_second = lure_widest / seconds;
    bars.width = seconds * bars.a_second + lure_bar;
    return bars;
}

void draw_lure_bars(const Canvas& canvas, const StageLure& lure, const LureBars& bars, double left, double scale) {
    const auto x = [&](Duration at) {
        return left + canvas.u(static_cast<double>((at - bars.first).count()) / 1e9 * bars.a_second) * scale;
    };
    const double width = canvas.u(lure_bar) * scale, half = canvas.u(lure_half), top = canvas.u(10.8);
    const double lower = top + half + canvas.u(lure_between);
    for (const Duration its : lure.its) {
        for (const Duration yours : lure.yours) {
            if (yours - its > lure_joined || its - yours > lure_joined) continue;
            const double from = x(yours), to = x(its);
            set_colour(canvas.cairo, canvas.colours.text);
            cairo_move_to(canvas.cairo, from, top + half);
            cairo_line_to(canvas.cairo, from + width, top + half);
            cairo_line_to(canvas.cairo, to + width, lower);
            cairo_line_to(canvas.cairo, to, lower);
            cairo_close_path(canvas.cairo);
            cairo_fill(canvas.cairo);
        }
        fill_box(canvas.cairo, x(its), lower, width, half, canvas.colours.figure);
    }
    for (const Duration yours : lure.yours) fill_box(canvas.cairo, x(yours), top, width, half, canvas.colours.nudge);
}

void draw_lure(const Canvas& canvas, const StageLure& lure) {
    const LureBars bars = lure_bars(lure);
    const double shape = shape_share * capital_height * full_size;
    const Large large{lure.follows ? "Break it" : "Set a beat", canvas.colours.nudge, bars.width / shape};
    const Setting setting = set_words(canvas, large);
    const ShapePlace place = draw_large(canvas, large, setting);
    draw_lure_bars(canvas, lure, bars, place.left, setting.size / canvas.u(full_size));
    std::vector<TextRun> second{{"it does not follow yet", Weight::regular, canvas.colours.quiet}};
    if (lure.follows)
        second = {{"it follows ", Weight::bold, canvas.colours.text},
                  {"your beat", Weight::bold, canvas.colours.nudge}};
    draw_second_line(canvas, std::move(second), setting, 1);
}

/// Something is wrong: a ring of dashes, what happened, what to do. Words, not alarm.
void draw_message(const Canvas& canvas, const StageMessage& message) {
    const double ring = canvas.u(9);
    const double left = canvas.left() + canvas.u(3);
    fill_box(canvas.cairo, canvas.left(), canvas.u(12), canvas.right() - canvas.left(), canvas.u(16.4),
             canvas.colours.raised);
    draw_verdict_shape(canvas.cairo, Verdict::void_rep, {left + ring / 2, canvas.u(20.2)}, ring, canvas.colours, false);
    const double words = left + ring + canvas.u(3.5);
    const double room = canvas.right() - canvas.u(3) - words;
    const double size = fitting_size(message.what, room, canvas.u(6.2), canvas.u(4), Weight::bold);
    draw_text(canvas.cairo, shortened(message.what, room, size, Weight::bold), words, canvas.u(19.2),
              {size, Weight::bold, canvas.colours.text});
    const double next = fitting_size(message.to_do, room, canvas.u(4.8), canvas.u(3.2), Weight::regular);
    draw_text(canvas.cairo, shortened(message.to_do, room, next, Weight::regular), words, canvas.u(25.8),
              {next, Weight::regular, canvas.colours.text});
}

void draw_lamps_and_prompt(const Canvas& canvas, const std::string& prompt, int lit) {
    constexpr double step = 10.5;
    draw_lamps(canvas, canvas.middle() - canvas.u(step), canvas.u(17), canvas.u(3), canvas.u(step), lit);
    const double room = canvas.right() - canvas.left();
    const double size = fitting_size(prompt, room, canvas.u(4.6), canvas.u(3.03), Weight::semibold);
    draw_text(canvas.cairo, shortened(prompt, room, size, Weight::semibold), canvas.middle(), canvas.u(28.4),
              {size, Weight::semibold, canvas.colours.text}, Anchor::middle);
}

}  // namespace

void draw_lamps(const Canvas& canvas, double x, double y, double radius, double step, int lit) {
    for (int i = 0; i < count_lamps; ++i) {
        const Point centre{x + i * step, y};
        if (i < lit)
            fill_disc(canvas.cairo, centre, radius * 1.12, canvas.colours.text);
        else
            stroke_ring(canvas.cairo, centre, radius, radius * 0.24, canvas.colours.hip_line);
    }
}

void draw_speech(const Canvas& canvas, const StageView& view, HostTime shown_at) {
    const Speech speech = speech_at(view, shown_at);
    switch (speech.what) {
        case Speech::What::nothing:
            return;
        case Speech::What::message:
            return draw_message(canvas, *view.message);
        case Speech::What::verdict:
            return draw_verdict(canvas, *view.verdict, speech.strength);
        case Speech::What::nudge:
            return draw_nudge(canvas, *view.nudge, speech.strength);
        case Speech::What::lure:
            return draw_lure(canvas, *view.lure);
        case Speech::What::count:
            return draw_lamps_and_prompt(canvas, view.prompt, lamps_lit(*view.count, shown_at));
        case Speech::What::prompt:
            return draw_lamps_and_prompt(canvas, view.prompt, 0);
    }
}

}  // namespace breakstep
