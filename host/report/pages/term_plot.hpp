// An athlete's evenings over a term: a dot an evening with its 95 % interval as a line, the straight line through them.
// x is the date, so a missed week leaves a true gap; a share's axis runs from 0 to 100 %, never cut.
//
// Pure cairo, any thread that owns the context; never fails. Values are the caller's.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "core/progress/claims.hpp"
#include "core/progress/summary.hpp"
#include "report/pages/sheet.hpp"

namespace breakstep::pages {

struct TermPoint {
    std::int32_t day = 0;  ///< days since 1970-01-01
    double value = 0;      ///< a share 0 .. 1, or a measure in its own unit
    std::optional<progress::Interval> interval;
};

struct TermPlot {
    std::string title;              ///< "On time in the drop, evening by evening"
    bool share = true;              ///< 0 to 100 %; false: a measure of its own unit, axis from 0
    std::vector<TermPoint> points;  ///< in order of days
    std::optional<progress::StraightLine> line;
    std::string missing;  ///< said in its place without points
};

struct PlotPlace {
    double left = 0, top = 0;  ///< of the plot; numbers stand left of it
    double width = 0, height = 0;
};
/// What stands under the plot: days and months.
inline constexpr double plot_words_height = 28;

void draw_term_plot(const Sheet& sheet, const TermPlot& plot, const PlotPlace& place);

/// A round number at or above `value`, for the end of an axis: 1, 2, 2.5 or 5 times a power of ten.
[[nodiscard]] double round_end(double value);

}  // namespace breakstep::pages
