#include "report/pages/page_parts.hpp"

#include <cairo.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "report/drawing/verdict_shape.hpp"
#include "report/drawing/verdict_words.hpp"

namespace breakstep::pages {
namespace {

PhaseStripLayout strip_layout(double left, double top, double width) {
    PhaseStripLayout layout;
    layout.left = left;
    layout.top = top;
    layout.width = width;
    layout.unit = strip_unit;
    layout.pitch = strip_pitch;
    layout.verdict_words = false;
    return layout;
}

std::string counted_words(const reading::HitCount& hits) {
    if (hits.scored == 0) return "No step-in could be guessed yet.";
    const std::string of_all = " of " + std::to_string(hits.scored);
    const std::string luck = std::to_string(std::llround(hits.chance));
    constexpr double anybody = 0.65;  // HitCount::shown: from here on the count says nothing of the athlete
    if (hits.chance / static_cast<double>(hits.scored) > anybody) return "At this pace luck catches " + luck + of_all;
    std::string words = std::to_string(hits.hits) + of_all + " caught, luck " + luck;
    if (!hits.shown()) return words + ": too few to tell";
    const auto interval = hits.timeable_interval();
    return words + ": Timeable " + std::to_string(std::lround(interval.low)) + " to " +
           std::to_string(std::lround(interval.high));
}

}  // namespace

double test_height(std::size_t rows) { return phase_strip_height(strip_layout(0, 0, 1), rows); }

Duration axis_end_of(const TestStrip& test) { return strip_end_for(test.reps); }

std::string test_words(const TestStrip& test, std::size_t shown) {
    std::string words = counts(test.on_time) + " on time";
    if (test.held.of > 0) words += ", " + counts(test.held) + (test.held.of == 1 ? " feint held" : " feints held");
    if (test.reps.size() > shown)
        words += "; the first " + std::to_string(shown) + " of " + std::to_string(test.reps.size());
    return words;
}

double draw_test(const Sheet& sheet, const TestStrip& test, std::size_t rows, double left, double top, double width,
                 Duration axis_end) {
    PhaseStripLayout layout = strip_layout(left, top, width);
    layout.to = axis_end;
    std::vector<StripRep> shown(test.reps.begin(),
                                test.reps.begin() + static_cast<std::ptrdiff_t>(std::min(rows, test.reps.size())));
    // Two sets of a test count from one again; the page counts through.
    for (std::size_t row = 0; row < shown.size(); ++row) shown[row].number = static_cast<int>(row) + 1;
    draw_phase_strip(sheet.cairo, shown, layout, sheet.theme);
    return top + phase_strip_height(layout, shown.size());
}

double draw_verdict_legend(const Sheet& sheet, const std::vector<const TestStrip*>& tests, std::size_t rows,
                           double left, double baseline, double width, bool child) {
    constexpr double size = 7, pitch = 15;
    std::set<Verdict> seen;
    for (const TestStrip* test : tests)
        for (std::size_t row = 0; row < std::min(rows, test->reps.size()); ++row) seen.insert(test->reps[row].verdict);
    double x = left, y = baseline;
    for (const Verdict verdict : seen) {
        const std::string_view text = child ? child_word(verdict) : word(verdict);
        const double needed = 12 + text_width(text, body_text, Weight::regular);
        if (x + needed > left + width) {
            x = left;
            y += pitch;
        }
        draw_verdict_shape(sheet.cairo, verdict, {x + 4, y - 3.4}, size, sheet.colours, true);
        x += 12 + draw_text(sheet.cairo, text, x + 12, y, sheet.style(body_text)) + 14;
    }
    return y;
}

std::string title_within(const std::string& title, double width, double size) {
    const auto fits = [&](const std::string& text) { return text_width(text, size, Weight::regular) <= width; };
    if (fits(title)) return title;
    // What stands before the colon names most drills; of a test, and of a short word before it, it names nothing.
    constexpr std::size_t names_it = 12;
    const std::size_t colon = title.rfind(':'), comma = title.rfind(',');
    const bool named = colon != std::string::npos && colon >= names_it && !title.starts_with("Test");
    for (const std::size_t at : {named ? colon : comma, comma, colon})
        if (at != std::string::npos && at > 0 && fits(title.substr(0, at))) return title.substr(0, at);
    return shortened(title, width, size, Weight::regular);
}

void draw_rhythm(const Sheet& sheet, const RhythmPeriod& period, double left, double top, double width) {
    std::string drills;
    if (period.drills > 0 && !period.word_alone)
        drills = period.sign == Sign::none
                     ? " in " + std::to_string(period.drills) + (period.drills == 1 ? " drill" : " drills")
                     : " in " + std::to_string(period.raised) + " of " + std::to_string(period.drills) +
                           (period.drills == 1 ? " drill" : " drills");
    const double baseline = top + 8;
    draw_runs(sheet.cairo,
              {{period.title + ": ", Weight::regular, sheet.colours.quiet},
               {std::string(word(period.sign)), Weight::bold, sheet.colours.text},
               {drills, Weight::regular, sheet.colours.quiet}},
              left, baseline, lead_text);
    if (period.word_alone) return;
    draw_text(sheet.cairo, shortened(counted_words(period.hits), width, small_text, Weight::regular), left,
              baseline + 13, sheet.quiet(small_text));
    if (!period.strip) return;
    RhythmLaneLayout layout;
    constexpr double words = 36, below_words = 19;
    layout.unit = lane_unit;
    layout.left = left + words;
    layout.top = baseline + below_words;
    layout.width = width - words;
    layout.height = (rhythm_height - 8 - below_words - 6) / lane_unit;
    layout.heading = false;
    layout.answer = false;
    draw_rhythm_lane(sheet.cairo, *period.strip, layout, sheet.theme);
}

}  // namespace breakstep::pages
