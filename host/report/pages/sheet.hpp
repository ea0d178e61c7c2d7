// The sheet of paper that every page is drawn on: A4 in points, margins of 46, two columns; and the pieces that come
// back on all pages: headings, text that says what is missing, a share with its interval.
//
// Pure cairo, any thread that owns the context; never fails. Text is 9 pt or more.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "core/progress/athlete_term.hpp"
#include "report/drawing/palette.hpp"
#include "report/drawing/text.hpp"

typedef struct _cairo cairo_t;

namespace breakstep::pages {

inline constexpr double page_width = 595.28, page_height = 841.89;  // ISO 216 A4: 210 x 297 mm at 72 points an inch
inline constexpr double margin = 46;
inline constexpr double inner_width = page_width - 2 * margin;
inline constexpr double bottom = page_height - margin;
inline constexpr double column_width = 226;
inline constexpr double right_column = page_width - margin - column_width;
/// Axes of the left column stand a little in from the margin, for what is written left of them.
inline constexpr double left_axis = margin + 18;

inline constexpr double small_text = 9, body_text = 10, lead_text = 10.5, section_text = 11.5;

struct Sheet {
    cairo_t* cairo;
    Theme theme;
    const Palette& colours;

    Sheet(cairo_t* context, Theme chosen) : cairo(context), theme(chosen), colours(palette(chosen)) {}

    [[nodiscard]] TextStyle style(double size, Weight weight = Weight::regular) const {
        return {size, weight, colours.text};
    }
    [[nodiscard]] TextStyle quiet(double size) const { return {size, Weight::regular, colours.quiet}; }
};

/// White paper under everything.
void draw_paper(const Sheet& sheet);
/// The heading of a section and, a line lower, what belongs to it.
void draw_heading(const Sheet& sheet, std::string_view heading, std::string_view below, double x, double baseline,
                  double width);
/// Why something is not shown, in the place where it would stand.
void draw_missing(const Sheet& sheet, std::string_view why, double x, double baseline, double width);
/// Club and term at the top right, ending at the margin; returns where the longer of them begins.
double draw_club(const Sheet& sheet, std::string_view club, std::string_view term, double width);
/// A quiet line at the foot of the page, shortened to the page's width.
void draw_footer(const Sheet& sheet, std::string_view text);
/// A page's title, smaller where it is long, in two lines where it is very long. Returns the last baseline.
double draw_title(const Sheet& sheet, std::string_view title, double width);

struct ShareRow {
    std::string label;
    progress::Share share;
};
/// Where rows of shares stand: label, then the scale from 0 to 100 %, then the counts at the right.
struct ShareLayout {
    double left = 0, top = 0;  ///< of the first row
    double width = 0;
    double label_width = 0;
    double counts_width = 54;
    double pitch = 16;
    bool bars = true;  ///< false: the dot alone
};
inline constexpr double share_axis_height = 15;
/// Fewer than this are told in numbers only: an interval over nearly everything says nothing.
inline constexpr std::uint64_t fewest_for_interval = 5;

/// Each share as a dot with its interval (Wilson, 95 %) as a bar on a line from 0 to 100 %, counts at the right, the
/// axis below. Returns where the axis ends.
double draw_shares(const Sheet& sheet, const std::vector<ShareRow>& rows, const ShareLayout& layout);

/// A dot with its interval as a bar on a scale from `left` to `left + width` for 0 .. 1, without the line behind.
void draw_interval(const Sheet& sheet, const progress::Share& share, double left, double width, double y, bool hollow);

[[nodiscard]] std::string counts(const progress::Share& share);  ///< "29 of 42"

}  // namespace breakstep::pages
