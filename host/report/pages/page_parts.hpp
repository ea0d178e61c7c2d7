// The parts of an athlete's page, drawn where the page or a chart's own file wants them. Internal to host/report/pages.
//
// Pure cairo, any thread that owns the context; never fails. Each returns where it ends.
#pragma once

#include <string>
#include <vector>

#include "report/pages/athlete_page.hpp"

namespace breakstep::pages {

inline constexpr double strip_unit = 4.5;  ///< makes the strips' smallest words 9 pt
static_assert(2.0 * strip_unit >= small_text);
inline constexpr double lane_unit = 3.4;     ///< makes the lane's words 9 pt
inline constexpr double strip_pitch = 2.85;  ///< in units, from rep to rep
inline constexpr double rhythm_height = 80;  ///< of one period: words and strip
inline constexpr double rhythm_words_height = 36, rhythm_word_height = 18;

/// The strip alone, `rows` reps at most, its axis from `left`.
double draw_test(const Sheet& sheet, const TestStrip& test, std::size_t rows, double left, double top, double width,
                 Duration axis_end);
[[nodiscard]] double test_height(std::size_t rows);
/// "7 of 8 on time, 2 of 2 feints held".
[[nodiscard]] std::string test_words(const TestStrip& test, std::size_t shown);
[[nodiscard]] Duration axis_end_of(const TestStrip& test);

/// A row of the verdicts' shapes with their words, of the verdicts that occur, in two lines if need be.
double draw_verdict_legend(const Sheet& sheet, const std::vector<const TestStrip*>& tests, std::size_t rows,
                           double left, double baseline, double width, bool child);

/// A drill's title in so much room: whole, else up to its colon or its last comma, else cut.
[[nodiscard]] std::string title_within(const std::string& title, double width, double size);

/// Words and strip of a period, `rhythm_height` high.
void draw_rhythm(const Sheet& sheet, const RhythmPeriod& period, double left, double top, double width);

}  // namespace breakstep::pages
