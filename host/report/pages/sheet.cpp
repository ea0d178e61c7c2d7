#include "report/pages/sheet.hpp"

#include <cairo.h>

#include <algorithm>

#include "report/drawing/shapes.hpp"

namespace breakstep::pages {

void draw_paper(const Sheet& sheet) {
    // A little over the edge: a picture's whole pixels end past it.
    fill_box(sheet.cairo, -1, -1, page_width + 2, page_height + 2, sheet.colours.ground);
}

void draw_heading(const Sheet& sheet, std::string_view heading, std::string_view below, double x, double baseline,
                  double width) {
    const double size = fitting_size(heading, width, section_text, small_text, Weight::semibold);
    draw_text(sheet.cairo, shortened(heading, width, size, Weight::semibold), x, baseline,
              sheet.style(size, Weight::semibold));
    if (!below.empty())
        draw_text(sheet.cairo, shortened(below, width, small_text, Weight::regular), x, baseline + 13.5,
                  sheet.quiet(small_text));
}

void draw_missing(const Sheet& sheet, std::string_view why, double x, double baseline, double width) {
    draw_paragraph(sheet.cairo, why, x, baseline, sheet.quiet(body_text), {width, 14, 5});
}

double draw_club(const Sheet& sheet, std::string_view club, std::string_view term, double width) {
    const double right = page_width - margin;
    const std::string name = shortened(club, width, section_text, Weight::semibold);
    const std::string dates = shortened(term, width, lead_text, Weight::regular);
    const double one =
        draw_text(sheet.cairo, name, right, margin + 13, sheet.style(section_text, Weight::semibold), Anchor::end);
    const double other = draw_text(sheet.cairo, dates, right, margin + 28, sheet.quiet(lead_text), Anchor::end);
    return right - std::max(one, other);
}

void draw_footer(const Sheet& sheet, std::string_view text) {
    draw_text(sheet.cairo, shortened(text, inner_width, small_text, Weight::regular), margin, bottom - 2.5,
              sheet.quiet(small_text));
}

double draw_title(const Sheet& sheet, std::string_view title, double width) {
    constexpr double largest = 36, least_on_one_line = 20, on_two_lines = 15, pitch = 18;
    constexpr double usual = margin + largest * capital_height;
    const double size = fitting_size(title, width, largest, least_on_one_line, Weight::bold);
    if (text_width(title, size, Weight::bold) <= width) {
        // Other scripts rise higher than capitals: the ink hangs from the margin.
        const double baseline = std::max(usual, margin + text_rise(title, size, Weight::bold));
        draw_text(sheet.cairo, title, margin, baseline, sheet.style(size, Weight::bold));
        return baseline;
    }
    const double baseline =
        margin + std::max(on_two_lines * capital_height, text_rise(title, on_two_lines, Weight::bold));
    const int lines = draw_paragraph(sheet.cairo, title, margin, baseline, sheet.style(on_two_lines, Weight::bold),
                                     {width, pitch, 4});
    return std::max(usual, baseline + (lines - 1) * pitch);
}

std::string counts(const progress::Share& share) {
    return std::to_string(share.hits) + " of " + std::to_string(share.of);
}

namespace {
constexpr double share_dot = 3.2;
}  // namespace

void draw_interval(const Sheet& sheet, const progress::Share& share, double left, double width, double y, bool hollow) {
    // The dot is small enough that a narrow interval still shows on both sides of it.
    constexpr double thickness = 2, radius = share_dot;
    const progress::Interval held = share.interval();
    stroke_line(sheet.cairo, {left + held.low * width, y}, {left + held.high * width, y}, thickness,
                hollow ? sheet.colours.hip_line : sheet.colours.figure);
    const Point centre{left + share.rate() * width, y};
    if (hollow) {
        fill_disc(sheet.cairo, centre, radius, sheet.colours.ground);
        stroke_ring(sheet.cairo, centre, radius - 0.3, 1.3, sheet.colours.text);
    } else
        fill_disc(sheet.cairo, centre, radius, sheet.colours.text);
}

namespace {

void draw_axis(const Sheet& sheet, double left, double width, double y) {
    const double right = left + width;
    stroke_line(sheet.cairo, {left, y}, {right, y}, 0.8, sheet.colours.hip_line);
    const auto tick = [&](double share, const char* text, Anchor anchor, double shift) {
        const double x = left + share * width;
        stroke_line(sheet.cairo, {x, y}, {x, y + 3}, 0.8, sheet.colours.hip_line);
        draw_text(sheet.cairo, text, x + shift, y + share_axis_height - 3, sheet.quiet(small_text), anchor);
    };
    tick(0, "0", Anchor::middle, 0);
    tick(0.5, "50", Anchor::middle, 0);
    // The number under its tick, the sign after it.
    tick(1, "100 %", Anchor::start, -text_width("100", small_text, Weight::regular) / 2);
}

}  // namespace

double draw_shares(const Sheet& sheet, const std::vector<ShareRow>& rows, const ShareLayout& layout) {
    const double left = layout.left + layout.label_width;
    const double width = layout.width - layout.label_width - layout.counts_width;
    double y = layout.top;
    for (const ShareRow& row : rows) {
        const double baseline = y + 3.5;
        draw_text(sheet.cairo, shortened(row.label, layout.label_width - 8, body_text, Weight::regular), layout.left,
                  baseline, sheet.style(body_text));
        stroke_line(sheet.cairo, {left, y}, {left + width, y}, 0.6, sheet.colours.dim);
        if (row.share.of >= fewest_for_interval && layout.bars) {
            draw_interval(sheet, row.share, left, width, y, false);
        } else if (row.share.of >= fewest_for_interval) {
            fill_disc(sheet.cairo, {left + row.share.rate() * width, y}, share_dot, sheet.colours.text);
        } else {
            const double words = text_width("too few", small_text, Weight::regular) + 8;
            fill_box(sheet.cairo, left + (width - words) / 2, y - 5, words, 10, sheet.colours.ground);
            draw_text(sheet.cairo, "too few", left + width / 2, baseline, sheet.quiet(small_text), Anchor::middle);
        }
        draw_text(sheet.cairo, counts(row.share), layout.left + layout.width, baseline, sheet.quiet(small_text),
                  Anchor::end);
        y += layout.pitch;
    }
    const double axis = y - layout.pitch + 10;
    draw_axis(sheet, left, width, axis);
    return axis + share_axis_height;
}

}  // namespace breakstep::pages
