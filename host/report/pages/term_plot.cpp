#include "report/pages/term_plot.hpp"

#include <cairo.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>

#include "report/drawing/shapes.hpp"

namespace breakstep::pages {
namespace {

constexpr double inset = 12;  // from the plot's edges to the first and last evening

constexpr const char* months[] = {"January", "February", "March",     "April",   "May",      "June",
                                  "July",    "August",   "September", "October", "November", "December"};

std::chrono::year_month_day date_of(std::int32_t day) {
    return std::chrono::year_month_day{std::chrono::sys_days{std::chrono::days{day}}};
}

std::string number(double value) {
    char text[32];
    std::snprintf(text, sizeof text, "%.4g", value);
    return text;
}

struct Plot {
    const Sheet& sheet;
    const TermPlot& plot;
    const PlotPlace& place;
    double low = 0, high = 1;

    [[nodiscard]] double x(double day) const {
        const double first = plot.points.front().day, last = plot.points.back().day;
        const double share = last > first ? (day - first) / (last - first) : 0.5;
        return place.left + inset + share * (place.width - 2 * inset);
    }
    [[nodiscard]] double y(double value) const { return place.top + place.height * (1 - (value - low) / (high - low)); }
    [[nodiscard]] double right() const { return place.left + place.width; }
    [[nodiscard]] double axis() const { return place.top + place.height; }
};

void draw_scale(const Plot& plot) {
    const Palette& colours = plot.sheet.colours;
    for (int quarter = 4; quarter >= 0; --quarter) {
        const double value = plot.low + (plot.high - plot.low) * quarter / 4;
        const double y = plot.y(value);
        const bool axis = quarter == 0;
        stroke_line(plot.sheet.cairo, {plot.place.left, y}, {plot.right(), y}, axis ? 0.9 : 0.6,
                    axis ? colours.hip_line : colours.dim);
        if (quarter % 2 != 0) continue;
        const std::string text =
            plot.plot.share ? std::to_string(quarter * 25) + (quarter == 4 ? " %" : "") : number(value);
        draw_text(plot.sheet.cairo, text, plot.place.left - 6, y + 3.2, plot.sheet.quiet(small_text), Anchor::end);
    }
}

/// The day under each evening where there is room, the month under its first.
void draw_dates(const Plot& plot) {
    constexpr double apart = 4;
    double day_end = -1e9, month_end = -1e9;
    std::optional<std::chrono::month> named;
    for (const TermPoint& point : plot.plot.points) {
        const auto date = date_of(point.day);
        const double x = plot.x(point.day);
        const std::string day = std::to_string(static_cast<unsigned>(date.day()));
        const double half = text_width(day, small_text, Weight::regular) / 2;
        if (x - half >= day_end + apart) {
            draw_text(plot.sheet.cairo, day, x, plot.axis() + 12, plot.sheet.quiet(small_text), Anchor::middle);
            stroke_line(plot.sheet.cairo, {x, plot.axis()}, {x, plot.axis() + 3}, 0.8, plot.sheet.colours.hip_line);
            day_end = x + half;
        }
        if (named == date.month()) continue;
        // Short where there is no room for all of it: a day must never stand under the month before.
        std::string month = months[static_cast<unsigned>(date.month()) - 1];
        if (std::min(x - half, plot.right() - text_width(month, small_text, Weight::regular)) < month_end + apart)
            month.resize(3);
        const double width = text_width(month, small_text, Weight::regular);
        const double begin = std::min(x - half, plot.right() - width);
        if (begin < month_end + apart) continue;
        draw_text(plot.sheet.cairo, month, begin, plot.axis() + 24, plot.sheet.quiet(small_text));
        month_end = begin + width;
        named = date.month();
    }
}

void draw_points(const Plot& plot) {
    const Palette& colours = plot.sheet.colours;
    for (const TermPoint& point : plot.plot.points)
        if (point.interval) {
            const double x = plot.x(point.day);
            stroke_line(plot.sheet.cairo, {x, plot.y(point.interval->low)}, {x, plot.y(point.interval->high)}, 1.8,
                        colours.figure);
        }
    if (plot.plot.line && plot.plot.points.size() > 1) {
        const auto& line = *plot.plot.line;
        // A straight line may leave 0 to 100 %: it is cut there, not bent.
        cairo_save(plot.sheet.cairo);
        cairo_rectangle(plot.sheet.cairo, plot.place.left, plot.place.top, plot.place.width, plot.place.height);
        cairo_clip(plot.sheet.cairo);
        const double first = plot.plot.points.front().day, last = plot.plot.points.back().day;
        stroke_line(plot.sheet.cairo, {plot.x(first), plot.y(line.intercept + line.slope * first)},
                    {plot.x(last), plot.y(line.intercept + line.slope * last)}, 1.4, colours.text);
        cairo_restore(plot.sheet.cairo);
    }
    for (const TermPoint& point : plot.plot.points) {
        const Point centre{plot.x(point.day), plot.y(point.value)};
        fill_disc(plot.sheet.cairo, centre, 4.4, colours.ground);
        fill_disc(plot.sheet.cairo, centre, 3.3, colours.text);
    }
}

}  // namespace

double round_end(double value) {
    if (!(value > 0) || !std::isfinite(value)) return 1;
    const double power = std::pow(10, std::floor(std::log10(value)));
    for (const double step : {1.0, 2.0, 2.5, 5.0, 10.0})
        if (step * power >= value * (1 - 1e-12)) return step * power;
    return 10 * power;
}

void draw_term_plot(const Sheet& sheet, const TermPlot& plot, const PlotPlace& place) {
    if (plot.points.empty()) return draw_missing(sheet, plot.missing, place.left, place.top + 8, place.width);
    Plot drawn{sheet, plot, place};
    if (!plot.share) {
        double least = 0, most = 0;
        for (const TermPoint& point : plot.points) {
            least = std::min(least, point.value);
            most = std::max(most, point.value);
        }
        drawn.high = most > 0 ? round_end(most) : 0;
        drawn.low = least < 0 ? -round_end(-least) : 0;
        if (drawn.high <= drawn.low) drawn.high = drawn.low + 1;
    }
    draw_scale(drawn);
    draw_dates(drawn);
    draw_points(drawn);
}

}  // namespace breakstep::pages
