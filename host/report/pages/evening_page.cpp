#include "report/pages/evening_page.hpp"

#include <cairo.h>

#include <algorithm>

#include "report/drawing/shapes.hpp"
#include "report/pages/page_parts.hpp"

namespace breakstep::pages {
namespace {

constexpr std::size_t rows_a_sheet = 22;
constexpr double row_pitch = 28, first_row = 146;
constexpr double drill_left = margin + 84, reps_right = 332, scale_left = 346, scale_width = 68, counts_right = 462;
constexpr double clashes_right = 498, sign_left = 511;

void draw_table_head(const Sheet& sheet) {
    const double baseline = first_row - 22;
    const TextStyle words = sheet.quiet(small_text);
    draw_text(sheet.cairo, "athlete", margin, baseline, words);
    draw_text(sheet.cairo, "drill", drill_left, baseline, words);
    draw_text(sheet.cairo, "reps", reps_right, baseline, words, Anchor::end);
    draw_text(sheet.cairo, "0", scale_left, baseline, words, Anchor::middle);
    draw_text(sheet.cairo, "on time", scale_left + scale_width / 2, baseline, words, Anchor::middle);
    draw_text(sheet.cairo, "100 %", scale_left + scale_width - 8, baseline, words);
    draw_text(sheet.cairo, "clashes", clashes_right, baseline, words, Anchor::end);
    draw_text(sheet.cairo, "timed", sign_left, baseline, words);
    stroke_line(sheet.cairo, {margin, baseline + 6}, {page_width - margin, baseline + 6}, 0.8, sheet.colours.hip_line);
}

constexpr double drill_width = reps_right - 26 - drill_left;

/// Cut at its name only where even the smallest letters are too wide for the whole.
std::string drill_title(const EveningRow& row) { return title_within(row.drill, drill_width, small_text); }

/// One for every row, so that no drill seems to count more than another.
double drill_size(const std::vector<EveningRow>& rows) {
    double size = body_text;
    for (const EveningRow& row : rows)
        size = std::min(size, fitting_size(drill_title(row), drill_width, body_text, small_text, Weight::regular));
    return size;
}

void draw_row(const Sheet& sheet, const EveningRow& row, bool named, double size, double baseline) {
    cairo_t* cairo = sheet.cairo;
    if (named)
        draw_text(cairo, shortened(row.call_sign, drill_left - margin - 8, lead_text, Weight::semibold), margin,
                  baseline, sheet.style(lead_text, Weight::semibold));
    draw_text(cairo, drill_title(row), drill_left, baseline, sheet.style(size));
    std::string second = row.at;
    const auto add = [&](const std::string& words) { second += (second.empty() ? "" : ", ") + words; };
    if (row.held.of > 0) add(counts(row.held) + (row.held.of == 1 ? " feint held" : " feints held"));
    if (!row.read.empty()) add("can be read: " + row.read);
    if (!row.odd.empty()) add("something was odd: see below");
    draw_text(cairo, shortened(second, page_width - margin - drill_left, small_text, Weight::regular), drill_left,
              baseline + 11, sheet.quiet(small_text));
    draw_text(cairo, std::to_string(row.reps), reps_right, baseline, sheet.style(small_text), Anchor::end);
    const double middle = baseline - 3.2;
    if (row.on_time.of >= fewest_for_interval) {
        stroke_line(cairo, {scale_left, middle}, {scale_left + scale_width, middle}, 0.6, sheet.colours.dim);
        draw_interval(sheet, row.on_time, scale_left, scale_width, middle, false);
    } else if (row.on_time.of > 0) {
        draw_text(cairo, "too few", scale_left + scale_width / 2, baseline, sheet.quiet(small_text), Anchor::middle);
    }
    draw_text(cairo, row.on_time.of == 0 ? "none scored" : counts(row.on_time), counts_right, baseline,
              sheet.quiet(small_text), Anchor::end);
    draw_text(cairo, std::to_string(row.clashes), clashes_right, baseline, sheet.style(small_text), Anchor::end);
    draw_text(cairo, row.sign, sign_left, baseline,
              sheet.style(small_text, row.sign == "yes" ? Weight::bold : Weight::regular));
}

constexpr double line_pitch = 14, heading_height = 34;

/// What stands behind the table, one part under the other.
struct Part {
    const char* heading;
    const char* nothing;
    const std::vector<std::string>& lines;
    [[nodiscard]] double height() const {
        return heading_height + static_cast<double>(std::max<std::size_t>(lines.size(), 1)) * line_pitch;
    }
};

std::vector<Part> parts_of(const EveningPage& page) {
    std::vector<Part> parts;
    if (!page.stood_out.empty()) parts.push_back({"What stood out", "", page.stood_out});
    if (!page.next_week.empty()) parts.push_back({"Next week", "", page.next_week});
    parts.push_back({"What was odd", "Nothing: no void rep, no lost event, nothing cut off.", page.odd});
    return parts;
}

double parts_height(const EveningPage& page) {
    double height = 0;
    for (const Part& part : parts_of(page)) height += part.height();
    return height;
}

std::size_t tables_of(const EveningPage& page) {
    return std::max<std::size_t>(1, (page.rows.size() + rows_a_sheet - 1) / rows_a_sheet);
}

bool parts_need_own_sheet(const EveningPage& page) {
    const std::size_t last = page.rows.empty() ? 0 : (page.rows.size() - 1) % rows_a_sheet + 1;
    return first_row + static_cast<double>(last) * row_pitch + 20 + parts_height(page) > bottom - 16;
}

}  // namespace

std::size_t evening_sheets(const EveningPage& page) { return tables_of(page) + (parts_need_own_sheet(page) ? 1 : 0); }

void draw_evening_page(cairo_t* cairo, const EveningPage& page, std::size_t sheet_number, Theme theme) {
    const Sheet sheet(cairo, theme);
    draw_paper(sheet);
    const double club = draw_club(sheet, page.club, page.date, 290);
    draw_title(sheet, "The evening", club - 20 - margin);
    draw_text(
        cairo,
        shortened(page.summary, inner_width,
                  fitting_size(page.summary, inner_width, body_text, small_text, Weight::regular), Weight::regular),
        margin, 97, sheet.quiet(fitting_size(page.summary, inner_width, body_text, small_text, Weight::regular)));
    const std::size_t begin = std::min(sheet_number * rows_a_sheet, page.rows.size());
    const std::size_t end = std::min(begin + rows_a_sheet, page.rows.size());
    double y = 130;
    if (end > begin) {
        draw_table_head(sheet);
        const double size = drill_size(page.rows);
        for (std::size_t row = begin; row < end; ++row) {
            const bool named = row == begin || page.rows[row].call_sign != page.rows[row - 1].call_sign;
            const double baseline = first_row + static_cast<double>(row - begin) * row_pitch;
            if (named && row > begin)
                stroke_line(cairo, {margin, baseline - 14}, {page_width - margin, baseline - 14}, 0.6,
                            sheet.colours.dim);
            draw_row(sheet, page.rows[row], named, size, baseline);
        }
        y = first_row + static_cast<double>(end - begin) * row_pitch + 16;
    }
    const std::size_t sheets = evening_sheets(page);
    if (sheet_number + 1 == sheets) {
        for (const Part& part : parts_of(page)) {
            draw_heading(sheet, part.heading, "", margin, y, inner_width);
            if (part.lines.empty()) draw_text(cairo, part.nothing, margin, y + 17, sheet.quiet(body_text));
            for (std::size_t line = 0; line < part.lines.size(); ++line) {
                const double at = y + 17 + static_cast<double>(line) * line_pitch;
                if (at >= bottom - 20) break;
                draw_text(cairo, shortened(part.lines[line], inner_width, body_text, Weight::regular), margin, at,
                          sheet.style(body_text));
            }
            y += part.height();
        }
    }
    std::string footer = page.footer;
    if (sheets > 1)
        footer = "Sheet " + std::to_string(sheet_number + 1) + " of " + std::to_string(sheets) + ". " + footer;
    draw_footer(sheet, footer);
}

}  // namespace breakstep::pages
