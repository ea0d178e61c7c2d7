#include "report/pages/group_page.hpp"

#include <cairo.h>

#include <algorithm>

#include "report/drawing/shapes.hpp"
#include "report/pages/page_parts.hpp"

namespace breakstep::pages {
namespace {

constexpr std::size_t rows_a_sheet = 22;
constexpr double pitch_least = 23, pitch_most = 30, first_row = 158, words_baseline = 97;
// Columns, from the left edge of the paper.
constexpr double claim_left = 226, scale_left = 330, scale_width = 96, values_right = 484, evenings_right = 516;
constexpr double reps_right = page_width - margin;
constexpr double plan_pitch = 15;
constexpr int plan_words_lines = 5;

/// Up, down, level, or a ring of what is still open: told without colour or word.
void draw_claim_mark(const Sheet& sheet, progress::Claim claim, Point centre) {
    constexpr double half = 4;
    cairo_t* cairo = sheet.cairo;
    const auto triangle = [&](double up) {
        cairo_new_path(cairo);
        cairo_move_to(cairo, centre.x - half, centre.y + up * half * 0.9);
        cairo_line_to(cairo, centre.x + half, centre.y + up * half * 0.9);
        cairo_line_to(cairo, centre.x, centre.y - up * half * 0.9);
        cairo_close_path(cairo);
    };
    switch (claim) {
        case progress::Claim::improved:
            triangle(1);
            set_colour(cairo, sheet.colours.good);
            cairo_fill(cairo);
            return;
        case progress::Claim::worse:
            triangle(-1);
            set_colour(cairo, sheet.colours.bad);
            cairo_set_line_width(cairo, 1.4);
            cairo_stroke(cairo);
            return;
        case progress::Claim::no_clear_change:
            return stroke_line(cairo, {centre.x - half, centre.y}, {centre.x + half, centre.y}, 1.8,
                               sheet.colours.figure);
        case progress::Claim::too_few:
            return stroke_ring(cairo, centre, half - 1.2, 1, sheet.colours.quiet);
    }
}

/// For the coach, who may say what a child's own page does not.
std::string_view claim_words(progress::Claim claim) {
    switch (claim) {
        case progress::Claim::improved:
            return "improved";
        case progress::Claim::worse:
            return "needs practice";
        case progress::Claim::no_clear_change:
            return "no clear change";
        case progress::Claim::too_few:
            return "too early to tell";
    }
    return "";
}

void draw_row(const Sheet& sheet, const GroupRow& row, double baseline) {
    cairo_t* cairo = sheet.cairo;
    const double name_width = claim_left - margin - 14;
    draw_text(cairo, shortened(row.call_sign, name_width, lead_text, Weight::semibold), margin, baseline,
              sheet.style(lead_text, Weight::semibold));
    draw_text(cairo, title_within(row.next, name_width, small_text), margin, baseline + 11, sheet.quiet(small_text));
    draw_claim_mark(sheet, row.claim, {claim_left, baseline - 3.4});
    const double words_left = claim_left + 9, words_width = scale_left - words_left - 10;
    std::string claim{claim_words(row.claim)};
    if (!row.unclaimed.empty())
        claim = row.unclaimed;
    else if (row.provisional && row.claim != progress::Claim::too_few)
        claim += " so far";
    draw_text(cairo, shortened(claim, words_width, body_text, Weight::regular), words_left, baseline,
              sheet.style(body_text));
    draw_text(cairo, shortened(row.measure, words_width, small_text, Weight::regular), words_left, baseline + 11,
              sheet.quiet(small_text));
    const double middle = baseline + 1.5;
    if (row.baseline || row.now) {
        stroke_line(cairo, {scale_left, middle}, {scale_left + scale_width, middle}, 0.6, sheet.colours.dim);
        if (row.baseline) draw_interval(sheet, *row.baseline, scale_left, scale_width, middle - 4.5, true);
        if (row.now) draw_interval(sheet, *row.now, scale_left, scale_width, middle + 4.5, false);
    }
    draw_text(
        cairo,
        shortened(row.values, values_right - scale_left - (row.now ? scale_width : 0) - 4, small_text, Weight::regular),
        values_right, middle + 3.2, sheet.style(small_text), Anchor::end);
    draw_text(cairo, std::to_string(row.evenings), evenings_right, middle + 3.2, sheet.style(small_text), Anchor::end);
    draw_text(cairo, std::to_string(row.reps), reps_right, middle + 3.2, sheet.style(small_text), Anchor::end);
}

void draw_table_head(const Sheet& sheet) {
    const double baseline = first_row - 20;
    const TextStyle words = sheet.quiet(small_text);
    draw_text(sheet.cairo, "athlete, in order of call-sign", margin, baseline, words);
    draw_text(sheet.cairo, "against themselves", claim_left - 4, baseline, words);
    draw_text(sheet.cairo, "0", scale_left, baseline, words, Anchor::middle);
    draw_text(sheet.cairo, "50", scale_left + scale_width / 2, baseline, words, Anchor::middle);
    draw_text(sheet.cairo, "100 %", scale_left + scale_width - 8, baseline, words);
    draw_text(sheet.cairo, "evenings", evenings_right + 2, baseline, words, Anchor::end);
    draw_text(sheet.cairo, "reps", reps_right, baseline, words, Anchor::end);
    stroke_line(sheet.cairo, {margin, baseline + 6}, {page_width - margin, baseline + 6}, 0.8, sheet.colours.hip_line);
}

void draw_scale_grid(const Sheet& sheet, double top, double end) {
    for (const double share : {0.0, 0.5, 1.0}) {
        const double x = scale_left + share * scale_width;
        stroke_line(sheet.cairo, {x, top}, {x, end}, 0.6, sheet.colours.dim);
    }
}

/// What hollow and full bars and the marks of the claims stand for, in the shapes themselves.
void draw_key(const Sheet& sheet, double baseline) {
    constexpr double apart = 10;
    double x = margin;
    const auto say = [&](std::string_view text) {
        x += draw_text(sheet.cairo, text, x, baseline, sheet.quiet(small_text)) + apart;
    };
    for (const progress::Claim claim : {progress::Claim::improved, progress::Claim::worse,
                                        progress::Claim::no_clear_change, progress::Claim::too_few}) {
        draw_claim_mark(sheet, claim, {x + 4, baseline - 3.2});
        x += 12;
        say(claim_words(claim));
    }
    const auto bar = [&](bool hollow, std::string_view text) {
        draw_interval(sheet, {5, 10}, x - 8, 30, baseline - 3.2, hollow);
        x += 19;
        say(text);
    };
    bar(true, "first three");
    bar(false, "last three evenings");
}

void draw_plan(const Sheet& sheet, const GroupPage& page, double baseline) {
    draw_heading(sheet, "The plan for the group", "", margin, baseline, inner_width);
    double y = baseline + 16;
    if (!page.plan_words.empty()) {
        constexpr double pitch = 13.5;
        y += (draw_paragraph(sheet.cairo, page.plan_words, margin, y, sheet.quiet(body_text),
                             {inner_width, pitch, plan_words_lines}) -
              1) *
             pitch;
        y += 17;
    }
    constexpr double what_left = margin + 92, why_left = margin + 200;
    for (const PlanBlock& block : page.plan) {
        draw_text(sheet.cairo, shortened(block.when, 88, body_text, Weight::regular), margin, y,
                  sheet.quiet(body_text));
        draw_text(sheet.cairo, shortened(block.what, why_left - what_left - 8, body_text, Weight::semibold), what_left,
                  y, sheet.style(body_text, Weight::semibold));
        draw_text(sheet.cairo, shortened(block.why, page_width - margin - why_left, body_text, Weight::regular),
                  why_left, y, sheet.quiet(body_text));
        y += plan_pitch;
    }
}

constexpr double plan_words_pitch = 13.5, plan_gap = 32;

double plan_height(const GroupPage& page) {
    const int lines =
        std::min(plan_words_lines, paragraph_lines(page.plan_words, inner_width, body_text, Weight::regular));
    const double words = lines == 0 ? 0 : 17 + (lines - 1) * plan_words_pitch;
    return 16 + words + static_cast<double>(page.plan.size()) * plan_pitch;
}

/// How many of the rows stand on a sheet before this one.
std::size_t rows_before(std::size_t sheet) { return sheet * rows_a_sheet; }

std::size_t rows_on_last_table(const GroupPage& page) {
    return page.rows.empty() ? 0 : (page.rows.size() - 1) % rows_a_sheet + 1;
}

constexpr double table_room = bottom - 20 - first_row;

bool plan_needs_own_sheet(const GroupPage& page) {
    return static_cast<double>(rows_on_last_table(page)) * pitch_least + plan_gap + plan_height(page) > table_room;
}

/// As far apart as the sheet allows, so that each row's two lines are seen to belong together.
double row_pitch(const GroupPage& page, std::size_t rows, bool with_plan) {
    const double room = table_room - (with_plan ? plan_gap + plan_height(page) : 14);
    return std::clamp(room / static_cast<double>(std::max<std::size_t>(1, rows)), pitch_least, pitch_most);
}

}  // namespace

std::size_t group_sheets(const GroupPage& page) {
    const std::size_t tables = std::max<std::size_t>(1, (page.rows.size() + rows_a_sheet - 1) / rows_a_sheet);
    return tables + (plan_needs_own_sheet(page) ? 1 : 0);
}

void draw_group_page(cairo_t* cairo, const GroupPage& page, std::size_t sheet_number, Theme theme) {
    const Sheet sheet(cairo, theme);
    draw_paper(sheet);
    const double club = draw_club(sheet, page.club, page.term, 290);
    draw_title(sheet, page.group.empty() ? "The group" : "The group: " + page.group, club - 20 - margin);
    const std::size_t sheets = group_sheets(page);
    const std::size_t begin = std::min(rows_before(sheet_number), page.rows.size());
    const std::size_t end = std::min(begin + rows_a_sheet, page.rows.size());
    double y = 118;
    if (end > begin) {
        const bool with_plan = sheet_number + 1 == sheets;
        const double pitch = row_pitch(page, end - begin, with_plan);
        const double table_end = first_row + static_cast<double>(end - begin) * pitch;
        draw_paragraph(cairo, page.expected_wrong, margin, words_baseline, sheet.quiet(body_text),
                       {inner_width, 13.5, 2});
        draw_table_head(sheet);
        // Every second row lies on a band, so that its two lines are seen to belong together.
        const Colour band = blend(sheet.colours.ground, sheet.colours.dim, 0.25);
        for (std::size_t row = begin + 1; row < end; row += 2) {
            const double top = first_row + static_cast<double>(row - begin) * pitch - (pitch + 3) / 2 + 1.5;
            fill_box(cairo, margin, top, inner_width, pitch, band);
        }
        draw_scale_grid(sheet, first_row - 14, table_end - pitch + 12);
        for (std::size_t row = begin; row < end; ++row)
            draw_row(sheet, page.rows[row], first_row + static_cast<double>(row - begin) * pitch);
        draw_key(sheet, table_end + 2);
        y = table_end + plan_gap;
    } else if (page.rows.empty()) {
        draw_missing(sheet, "No athlete has a session or a past result in these days.", margin, y, inner_width);
        y += 34;
    }
    if (sheet_number + 1 == sheets) draw_plan(sheet, page, y);
    std::string footer = page.footer;
    if (sheets > 1)
        footer = "Sheet " + std::to_string(sheet_number + 1) + " of " + std::to_string(sheets) + ". " + footer;
    draw_footer(sheet, footer);
}

}  // namespace breakstep::pages
