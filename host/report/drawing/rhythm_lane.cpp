#include "report/drawing/rhythm_lane.hpp"

#include <algorithm>
#include <cmath>
#include <string>

#include "report/drawing/shapes.hpp"
#include "report/drawing/text.hpp"

namespace breakstep {
namespace {

constexpr double half_guess = 0.15;                    // seconds: what half of the lane stands for
constexpr double farthest = 0.52;                      // seconds from the middle of the guess to the drawing's edge
constexpr double largest_dot = 1.0, least_dot = 0.42;  // radius, units
constexpr double off_the_lane = 1.25;                  // radii from the lane's edge to a free ring's middle, or more
constexpr double lane_words = 2.7, heading_words = 3.4, legend_words = 3.0, answer_words = 3.2;

double share_of_nudge(Theme theme) { return theme == Theme::dark_hall ? 0.34 : 0.20; }

/// The lane's edges and the lane itself are the same colour, laid on more and less strongly.
constexpr double edge_share = 0.66, edge_width = 0.24;  // units

struct Lane {
    cairo_t* cairo;
    const RhythmLane& rhythm;
    const RhythmLaneLayout& layout;
    Theme theme;
    const Palette& colours;
    double middle;  ///< of the guess

    [[nodiscard]] double u(double units) const { return units * layout.unit; }
    [[nodiscard]] double half_height() const { return u(layout.height) / 2; }
    /// How far from the middle a step-in `seconds` off the guess lies.
    [[nodiscard]] double reach(double seconds) const { return seconds / farthest * (half_height() - radius()); }
    [[nodiscard]] double half_lane() const { return reach(half_guess) + 0.4 * radius(); }
    [[nodiscard]] double column() const {
        return layout.width / static_cast<double>(std::max<std::size_t>(1, rhythm.steps.size()));
    }
    [[nodiscard]] double radius() const { return std::clamp(0.62 * column(), u(least_dot), u(largest_dot)); }
    [[nodiscard]] double x(std::size_t index) const {
        const double room = layout.width - 2 * radius();
        return layout.left + radius() + (static_cast<double>(index) + 0.5) * room * column() / layout.width;
    }
};

/// Seconds later than the middle of the guess, on the scale on which half a guess is half the lane.
double later_than_guess(const StepIn& step) {
    const auto middle = static_cast<double>((step.guess->begin + step.guess->end).count()) / 2;
    const double half = std::max(1.0, static_cast<double>((step.guess->end - step.guess->begin).count()) / 2);
    return (static_cast<double>(step.interval.count()) - middle) / half * half_guess;
}

void draw_heading(const Lane& lane, double left) {
    const Palette& colours = lane.colours;
    const double baseline = lane.layout.top + lane.u(2.5);
    const double middle = baseline - lane.u(1.05);
    double x = left + draw_text(lane.cairo, "Your step-ins", left, baseline,
                                {lane.u(heading_words), Weight::semibold, colours.text});
    x += lane.u(5.4);
    fill_disc(lane.cairo, {x, middle}, lane.u(largest_dot), colours.text);
    x += lane.u(2.2);
    x += draw_text(lane.cairo, "caught", x, baseline,
                   {lane.u(legend_words), Weight::regular, colours.text, TextRole::strip});
    x += lane.u(5.1);
    stroke_ring(lane.cairo, {x, middle}, lane.u(0.82), lane.u(0.36), colours.text);
    x += lane.u(2.2);
    draw_text(lane.cairo, "free", x, baseline, {lane.u(legend_words), Weight::regular, colours.text, TextRole::strip});
}

void draw_ground(const Lane& lane) {
    const Palette& colours = lane.colours;
    const double left = lane.layout.left, half = lane.half_lane();
    fill_box(lane.cairo, left, lane.middle - half, lane.layout.width, 2 * half,
             blend(colours.ground, colours.nudge, share_of_nudge(lane.theme)));
    const Colour edge = blend(colours.ground, colours.nudge, edge_share);
    for (const double y : {lane.middle - half, lane.middle + half})
        stroke_line(lane.cairo, {left, y}, {left + lane.layout.width, y}, lane.u(edge_width), edge);
    const double words = left - lane.u(1.4);
    const double size = lane.u(lane_words);
    const double down = capital_height * size / 2;
    const TextStyle quiet{size, Weight::regular, colours.quiet, TextRole::strip};
    draw_text(lane.cairo, "sooner", words, lane.middle - lane.half_height() + 2 * down, quiet, Anchor::end);
    draw_text(lane.cairo, "guess", words, lane.middle + down, {size, Weight::semibold, colours.text, TextRole::strip},
              Anchor::end);
    draw_text(lane.cairo, "later", words, lane.middle + lane.half_height(), quiet, Anchor::end);
}

void draw_free(const Lane& lane, double x, double later) {
    const double radius = lane.radius();
    const double side = later < 0 ? -1 : 1;
    const double least = lane.half_lane() + off_the_lane * radius;
    const double off = std::clamp(lane.reach(std::abs(later)), least, lane.half_height() - radius);
    const Point at{x, lane.middle + side * off};
    fill_disc(lane.cairo, at, radius, lane.colours.ground);
    stroke_ring(lane.cairo, at, 0.82 * radius, 0.36 * radius, lane.colours.text);
    if (std::abs(later) <= farthest) return;
    // It came further off than is drawn: a bar across its outer side says so.
    const double edge = at.y + side * 1.15 * radius;
    stroke_line(lane.cairo, {x - radius, edge}, {x + radius, edge}, 0.3 * radius, lane.colours.text);
}

void draw_step(const Lane& lane, std::size_t index) {
    const StepIn& step = lane.rhythm.steps[index];
    const double x = lane.x(index), radius = lane.radius();
    if (step.cut && !step.guess) {
        const double half = 0.5 * lane.half_lane();
        stroke_line(lane.cairo, {x, lane.middle - half}, {x, lane.middle + half}, 0.3 * radius, lane.colours.quiet);
    } else if (!step.guess) {
        fill_disc(lane.cairo, {x, lane.middle}, 0.36 * radius, lane.colours.quiet);
    } else if (step.caught) {
        const double most = lane.half_lane() - lane.u(edge_width) - radius;  // clear of the lane's edge
        const double off = std::clamp(lane.reach(later_than_guess(step)), -std::max(0.0, most), std::max(0.0, most));
        fill_disc(lane.cairo, {x, lane.middle + off}, radius, lane.colours.text);
    } else {
        draw_free(lane, x, later_than_guess(step));
    }
}

/// A cell for each guess, caught ones full; the tick is what luck alone would fill.
void draw_cells(const Lane& lane, double left, double right, double top) {
    const RhythmLane& rhythm = lane.rhythm;
    const double height = lane.u(2.6), width = (right - left) / rhythm.windows;
    const double gap = std::min(lane.u(0.22), 0.2 * width);
    for (int cell = 0; cell < rhythm.windows; ++cell) {
        const double x = left + cell * width;
        if (cell < rhythm.caught)
            fill_box(lane.cairo, x, top, width - gap, height, lane.colours.text);
        else
            for (const double edge : {top + lane.u(0.07), top + height - lane.u(0.07)})
                stroke_line(lane.cairo, {x, edge}, {x + width - gap, edge}, lane.u(0.14), lane.colours.quiet);
    }
    const double luck = left + std::min(rhythm.chance, rhythm.windows) * width - gap / 2;
    stroke_line(lane.cairo, {luck, top - lane.u(1)}, {luck, top + height + lane.u(1)}, lane.u(0.5),
                lane.colours.ground);
    stroke_line(lane.cairo, {luck, top - lane.u(1)}, {luck, top + height + lane.u(1)}, lane.u(0.26),
                lane.colours.nudge);
}

void draw_answer(const Lane& lane) {
    const Palette& colours = lane.colours;
    const RhythmLane& rhythm = lane.rhythm;
    const double left = lane.layout.answer_left, right = lane.layout.answer_right, top = lane.layout.top;
    draw_text(lane.cairo, "Can you be timed?", left, top + lane.u(2.5),
              {lane.u(answer_words), Weight::regular, colours.quiet});
    const Colour colour = rhythm.sign == Sign::none ? colours.text : colours.nudge;
    const double size =
        fitting_size(std::string(word(rhythm.sign)), right - left, lane.u(7.2), lane.u(3.03), Weight::bold);
    draw_text(lane.cairo, word(rhythm.sign), left, top + lane.u(9.5), {size, Weight::bold, colour});
    if (rhythm.windows == 0) return;
    draw_cells(lane, left, right, top + lane.u(12.2));
    const double baseline = top + lane.u(19.2);
    const std::string luck = "luck " + std::to_string(rhythm.chance);
    const double taken = text_width(luck, lane.u(3), Weight::medium) + lane.u(1.5);
    const std::string counted = std::to_string(rhythm.caught) + " of " + std::to_string(rhythm.windows) + " caught";
    const double fits =
        fitting_size(counted, right - left - taken, lane.u(answer_words), lane.u(2.25), Weight::semibold);
    draw_text(lane.cairo, counted, left, baseline, {fits, Weight::semibold, colours.text, TextRole::strip});
    draw_text(lane.cairo, luck, right, baseline, {lane.u(3.03), Weight::medium, colours.nudge}, Anchor::end);
}

}  // namespace

void draw_rhythm_lane(cairo_t* cairo, const RhythmLane& rhythm, const RhythmLaneLayout& layout, Theme theme) {
    const double top = layout.top + (layout.heading ? rhythm_heading_height * layout.unit : 0);
    const Lane lane{cairo, rhythm, layout, theme, palette(theme), top + layout.height * layout.unit / 2};
    const double words = text_width("sooner", lane.u(lane_words), Weight::regular) + lane.u(1.4);
    if (layout.heading) draw_heading(lane, layout.left - words);
    draw_ground(lane);
    for (std::size_t index = 0; index < rhythm.steps.size(); ++index) draw_step(lane, index);
    if (layout.answer) draw_answer(lane);
}

}  // namespace breakstep
