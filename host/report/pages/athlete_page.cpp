#include "report/pages/athlete_page.hpp"

#include <cairo.h>

#include <algorithm>
#include <cmath>

#include "report/pages/page_parts.hpp"

namespace breakstep::pages {
namespace {

constexpr double plot_height = 122;
constexpr double tests_heading = 22;  // from a test's heading to its strip
constexpr double legends_height = 38;
constexpr double rhythm_heading = 31, rhythm_legend = 12;
constexpr double section_gap_least = 18;
constexpr double answers_pitch = 15.5;
/// What the lanes show: each step-in beside its guess.
constexpr std::string_view rhythm_legend_words = "The step-ins of one set. Full dot: caught. Ring: free.";
constexpr double read_pitch = 12.5;
/// Where no lane is drawn there is room for more.
int read_lines(const AthletePage& page) { return page.rhythm.empty() ? 8 : 5; }
constexpr std::size_t rows_most = 12, rows_least = 4;

/// What the headline is set in: large in two lines, smaller where it takes more.
struct Headline {
    double size, pitch;
    int lines;
};

Headline headline_for(const std::string& text) {
    constexpr Headline choices[] = {{18.5, 23, 2}, {15.5, 19.5, 3}, {13, 16.5, 5}};
    for (const Headline& choice : choices)
        if (paragraph_lines(text, inner_width, choice.size, Weight::bold) <= choice.lines) return choice;
    return choices[2];
}

/// Name, club, headline; returns the last baseline.
double draw_top(const Sheet& sheet, const AthletePage& page) {
    constexpr double club_width = 290, apart = 20;
    const double club_begin = draw_club(sheet, page.club, page.term, club_width);
    double y = draw_title(sheet, page.call_sign, club_begin - apart - margin);
    const Headline headline = headline_for(page.headline);
    y += 22 + headline.size;
    const int lines = draw_paragraph(sheet.cairo, page.headline, margin, y, sheet.style(headline.size, Weight::bold),
                                     {inner_width, headline.pitch, headline.lines});
    y += std::max(0, lines - 1) * headline.pitch;
    if (page.beyond.empty()) return y;
    constexpr double pitch = 14;
    const int more =
        draw_paragraph(sheet.cairo, page.beyond, margin, y + 20, sheet.quiet(lead_text), {inner_width, pitch, 2});
    return y + 20 + (more - 1) * pitch;
}

/// The heights below the tests, which are the same whatever stands in them.
double rhythm_section_height(const AthletePage& page) {
    double right = rhythm_heading - 5 + 2 * rhythm_height + rhythm_legend;
    if (!page.read_words.empty())
        right += 10 + read_pitch * std::min(read_lines(page),
                                            paragraph_lines(page.read_words, column_width, body_text, Weight::regular));
    return std::max(18 + plot_height + plot_words_height, right);
}
constexpr double answers_words_pitch = 11.5;
int answers_words_lines(const AthletePage& page) {
    return std::min(3, paragraph_lines(page.answers_words, column_width, small_text, Weight::regular));
}
void draw_tests(const Sheet& sheet, const AthletePage& page, std::size_t rows, double baseline) {
    if (!page.first_test) {
        draw_heading(sheet, "First and last test", "", margin, baseline, inner_width);
        return draw_missing(sheet, page.no_test, margin, baseline + 18, inner_width);
    }
    const Duration end = page.last_test ? std::max(axis_end_of(*page.first_test), axis_end_of(*page.last_test))
                                        : axis_end_of(*page.first_test);
    const double top = baseline + tests_heading;
    const auto draw = [&](const TestStrip& test, double heading, double axis) {
        draw_heading(sheet, test.title, test_words(test, rows), heading, baseline, axis + column_width - heading);
        draw_test(sheet, test, rows, axis, top, column_width, end);
    };
    draw(*page.first_test, margin, left_axis);
    if (page.last_test) {
        draw(*page.last_test, right_column, right_column);
    } else {
        draw_heading(sheet, page.first_test->title.starts_with("Last test") ? "Other tests" : "Last test", "",
                     right_column, baseline, column_width);
        draw_missing(sheet, page.no_last_test, right_column, baseline + 18, column_width);
    }
}

void draw_legends(const Sheet& sheet, const AthletePage& page, std::size_t rows, double top) {
    if (!page.first_test) return;
    draw_phase_legend(sheet.cairo, margin, top + 14, strip_unit, sheet.theme);
    std::vector<const TestStrip*> tests{&*page.first_test};
    if (page.last_test) tests.push_back(&*page.last_test);
    draw_verdict_legend(sheet, tests, rows, margin, top + 30, inner_width, page.child);
}

/// Another promise than the rhythm's: its own words and count.
void draw_read(const Sheet& sheet, const AthletePage& page, double x, double baseline) {
    draw_paragraph(sheet.cairo, page.read_words, x, baseline, sheet.style(body_text),
                   {column_width, read_pitch, read_lines(page)});
}

void draw_evenings(const Sheet& sheet, const AthletePage& page, double baseline) {
    draw_heading(sheet, page.plot.title, "", margin, baseline, left_axis + column_width - margin);
    constexpr double numbers = 32;
    if (page.plot.points.empty())
        draw_missing(sheet, page.plot.missing, margin, baseline + 20, column_width);
    else
        draw_term_plot(sheet, page.plot,
                       {margin + numbers, baseline + 18, left_axis + column_width - margin - numbers, plot_height});
    const double x = right_column;
    const bool figures = !page.rhythm.empty() && !page.rhythm.front().word_alone;
    draw_heading(sheet, "Can you be timed?", figures ? "Timeable: 0 by nobody, 100 by anybody" : "", x, baseline,
                 column_width);
    if (page.rhythm.empty()) {
        draw_missing(sheet, page.no_rhythm, x, baseline + 20, column_width);
        return draw_read(sheet, page, x, baseline + 62);
    }
    double y = baseline + (figures ? rhythm_heading - 5 : 12);
    for (const RhythmPeriod& period : page.rhythm) {
        draw_rhythm(sheet, period, x, y, column_width);
        y += period.strip ? rhythm_height : period.word_alone ? rhythm_word_height : rhythm_words_height;
    }
    const bool any_strip = std::any_of(page.rhythm.begin(), page.rhythm.end(),
                                       [](const RhythmPeriod& period) { return period.strip.has_value(); });
    if (any_strip)
        draw_text(sheet.cairo, shortened(rhythm_legend_words, column_width, small_text, Weight::regular), x,
                  y + rhythm_legend - 4, sheet.quiet(small_text));
    draw_read(sheet, page, x, y + rhythm_legend + 12);
}

/// What stands under "Next", where, and how high it is all together.
struct NextLayout {
    double size = 14.5, pitch = 18;
    double detail = 0, why = 0, evidence = 0, end = 0;  ///< baselines, and the first row of shares, below the heading
};
constexpr double next_title_below = 24, next_pitch = 13.5;
constexpr int next_title_lines = 2, next_detail_lines = 2, next_why_lines = 5;
constexpr double evidence_label = 84;

std::string why_words(const NextDrill& next) { return next.why.empty() ? "" : "Why: " + next.why; }

NextLayout lay_out(const NextDrill& next) {
    NextLayout layout;
    const auto lines = [](const std::string& text, double size, Weight weight, int most) {
        return std::min(most, paragraph_lines(text, column_width, size, weight));
    };
    double y = next_title_below;
    y += (lines(next.title, layout.size, Weight::bold, next_title_lines) - 1) * layout.pitch;
    const auto place = [&](const std::string& text, double before, int most) {
        if (text.empty()) return y;
        const double begin = y + before;
        y = begin + (lines(text, body_text, Weight::regular, most) - 1) * next_pitch;
        return begin;
    };
    layout.detail = place(next.detail, 17, next_detail_lines);
    layout.why = place(why_words(next), 18, next_why_lines);
    layout.evidence = y + 16;
    layout.end = next.evidence.empty()
                     ? y + 3
                     : layout.evidence + static_cast<double>(next.evidence.size() - 1) * 16 + 10 + share_axis_height;
    return layout;
}

void draw_next(const Sheet& sheet, const AthletePage& page, double x, double baseline) {
    const NextDrill& next = page.next;
    draw_heading(sheet, "Next", "", x, baseline, column_width);
    if (next.title.empty()) return draw_missing(sheet, next.why, x, baseline + 20, column_width);
    const NextLayout layout = lay_out(next);
    draw_paragraph(sheet.cairo, next.title, x, baseline + next_title_below, sheet.style(layout.size, Weight::bold),
                   {column_width, layout.pitch, next_title_lines});
    draw_paragraph(sheet.cairo, next.detail, x, baseline + layout.detail, sheet.style(body_text),
                   {column_width, next_pitch, next_detail_lines});
    draw_paragraph(sheet.cairo, why_words(next), x, baseline + layout.why, sheet.quiet(body_text),
                   {column_width, next_pitch, next_why_lines});
    if (next.evidence.empty()) return;
    ShareLayout shares;
    shares.left = x;
    shares.top = baseline + layout.evidence;
    shares.width = column_width;
    shares.label_width = evidence_label;
    shares.bars = !page.child;
    draw_shares(sheet, next.evidence, shares);
}

double answers_section_height(const AthletePage& page) {
    const auto rows = static_cast<double>(std::clamp<std::size_t>(page.answers.size(), 4, 7));
    const double answers =
        22 + answers_words_lines(page) * answers_words_pitch + rows * answers_pitch + share_axis_height;
    return std::max(answers, page.next.title.empty() ? 0 : lay_out(page.next).end) + 12;
}

double draw_answers(const Sheet& sheet, const AthletePage& page, double x, double baseline, double width) {
    draw_heading(sheet, "Your answers", "", x, baseline, width);
    if (page.answers.empty()) {
        draw_missing(sheet, page.no_answers, x, baseline + 20, width);
        return baseline + 40;
    }
    const int lines = draw_paragraph(sheet.cairo, page.answers_words, x, baseline + 13.5, sheet.quiet(small_text),
                                     {column_width, answers_words_pitch, 2});
    ShareLayout layout;
    layout.left = x;
    layout.top = baseline + 20 + lines * answers_words_pitch;
    layout.width = width;
    layout.label_width = 100;
    layout.pitch = answers_pitch;
    layout.bars = !page.child;
    return draw_shares(sheet, page.answers, layout);
}

}  // namespace

void draw_athlete_page(cairo_t* cairo, const AthletePage& page, Theme theme) {
    const Sheet sheet(cairo, theme);
    draw_paper(sheet);
    const double top = draw_top(sheet, page);
    const double below = rhythm_section_height(page) + answers_section_height(page);
    constexpr double footer = 16;
    const double room = bottom - footer - top - below;
    // As many reps as there is room for; what is left over goes between the sections.
    std::size_t rows = rows_most;
    const std::size_t longest =
        std::max(page.first_test ? page.first_test->reps.size() : 0, page.last_test ? page.last_test->reps.size() : 0);
    rows = std::clamp<std::size_t>(longest, rows_least, rows);
    constexpr double without_tests = 60;
    const auto tests_height = [&] {
        return page.first_test ? tests_heading + test_height(rows) + legends_height : without_tests;
    };
    while (rows > rows_least && room - tests_height() < 3 * section_gap_least) --rows;
    const double gap = std::clamp((room - tests_height()) / 3, 12.0, 40.0);

    double y = top + gap + 4;
    draw_tests(sheet, page, rows, y);
    draw_legends(sheet, page, rows, y + tests_heading + test_height(rows));
    y += tests_height() + gap;
    draw_evenings(sheet, page, y);
    y += rhythm_section_height(page) + gap;
    draw_answers(sheet, page, margin, y, left_axis + column_width - margin);
    draw_next(sheet, page, right_column, y);
    draw_footer(sheet, page.footer);
}

// ---- charts ---------------------------------------------------------------------------------------------------------

namespace {

constexpr double chart_edge = 16;
constexpr double chart_width = 260 + 2 * chart_edge;

Sheet chart_sheet(cairo_t* cairo, Theme theme, ChartSize size) {
    const Sheet sheet(cairo, theme);
    set_colour(cairo, sheet.colours.ground);
    cairo_rectangle(cairo, 0, 0, size.width, size.height);
    cairo_fill(cairo);
    return sheet;
}

}  // namespace

ChartSize test_chart_size(const TestStrip& test) {
    return {520, 2 * chart_edge + 30 + test_height(test.reps.size()) + legends_height};
}

void draw_test_chart(cairo_t* cairo, const TestStrip& test, Theme theme) {
    const ChartSize size = test_chart_size(test);
    const Sheet sheet = chart_sheet(cairo, theme, size);
    const double width = size.width - 2 * chart_edge - 18;
    draw_heading(sheet, test.title, test_words(test, test.reps.size()), chart_edge, chart_edge + 10, width);
    const double end =
        draw_test(sheet, test, test.reps.size(), chart_edge + 18, chart_edge + 28, width, axis_end_of(test));
    draw_phase_legend(cairo, chart_edge, end + 12, strip_unit, theme);
    draw_verdict_legend(sheet, {&test}, test.reps.size(), chart_edge, end + 28, width, false);
}

ChartSize plot_chart_size() { return {chart_width, 2 * chart_edge + 18 + plot_height + plot_words_height}; }

void draw_plot_chart(cairo_t* cairo, const TermPlot& plot, Theme theme) {
    const Sheet sheet = chart_sheet(cairo, theme, plot_chart_size());
    draw_heading(sheet, plot.title, "", chart_edge, chart_edge + 10, chart_width - 2 * chart_edge);
    draw_term_plot(sheet, plot, {chart_edge + 32, chart_edge + 28, chart_width - 2 * chart_edge - 32, plot_height});
}

ChartSize answers_chart_size(const AthletePage& page) {
    return {chart_width, 2 * chart_edge + 30 + answers_words_lines(page) * answers_words_pitch +
                             static_cast<double>(std::max<std::size_t>(page.answers.size(), 2)) * answers_pitch +
                             share_axis_height};
}

void draw_answers_chart(cairo_t* cairo, const AthletePage& page, Theme theme) {
    const Sheet sheet = chart_sheet(cairo, theme, answers_chart_size(page));
    draw_answers(sheet, page, chart_edge, chart_edge + 10, chart_width - 2 * chart_edge);
}

ChartSize rhythm_chart_size(const RhythmPeriod&) { return {chart_width, 2 * chart_edge + rhythm_height}; }

void draw_rhythm_chart(cairo_t* cairo, const RhythmPeriod& period, Theme theme) {
    const Sheet sheet = chart_sheet(cairo, theme, rhythm_chart_size(period));
    draw_rhythm(sheet, period, chart_edge, chart_edge, chart_width - 2 * chart_edge);
}

}  // namespace breakstep::pages
