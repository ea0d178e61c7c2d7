// The page an athlete takes home: one A4 sheet, in plain words. What changed, the first and the last test, the evenings
// of the term, whether an opponent could time them, which answers carry them, and what to do next.
//
// An athlete is compared with themselves only: a page holds nobody else, and no p-value, d' or variance. Colour carries
// nothing alone, so a grey printer loses nothing: phases differ by lightness and hatching, verdicts by shape. What
// can't be shown yet says why in its place.
//
// Pure cairo, any thread that owns the context; never fails. All words are shown as typed (no markup), in any script,
// shortened with an ellipsis where there is no room.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/reading/timeable_index.hpp"
#include "report/drawing/phase_strip.hpp"
#include "report/drawing/rhythm_lane.hpp"
#include "report/pages/sheet.hpp"
#include "report/pages/term_plot.hpp"

namespace breakstep::pages {

/// A test as a phase strip.
struct TestStrip {
    std::string title;              ///< "First test, 9 September"
    std::vector<StripRep> reps;     ///< in order; the first of them are drawn, as many as there is room for
    progress::Share on_time, held;  ///< of the whole test: scored reps; feints
};

/// What the athlete's rhythm gave away over some evenings.
struct RhythmPeriod {
    std::string title;                ///< "First three evenings"
    Sign sign = Sign::none;           ///< the strongest that a drill of these evenings raised
    int drills = 0, raised = 0;       ///< drills in which it was looked for, and those that raised that sign
    reading::HitCount hits;           ///< pooled over them
    std::optional<RhythmLane> strip;  ///< a set of one of them
    bool word_alone = false;          ///< a child's: yes, maybe or no sign, and no figure
};

struct NextDrill {
    std::string title;   ///< "The gap between two techniques"; "" for none
    std::string detail;  ///< "Two sets of eight, back leg, single kicks."
    std::string why;     ///< "clashes 34 % on carry: practise going around"
    std::vector<ShareRow> evidence;
};

struct AthletePage {
    std::string call_sign, club, term;
    bool child = false;    ///< the words of a child's page
    std::string headline;  ///< one sentence, up to 200 characters and a name
    std::string beyond;    ///< what it is beyond, smaller
    std::optional<TestStrip> first_test, last_test;
    std::string no_test;       ///< said without a first test
    std::string no_last_test;  ///< said without a last one
    TermPlot plot;
    /// "Can you be read? Yes, in 1 of 4 drills: after two retreats you go, 8 of 9."; "" where no drill could tell.
    std::string read_words;
    std::vector<RhythmPeriod> rhythm;  ///< at most two
    std::string no_rhythm;             ///< said without any
    std::vector<ShareRow> answers;     ///< at most seven
    std::string answers_words;         ///< what stands out among them, two lines at most; may be ""
    std::string no_answers;            ///< said without any
    NextDrill next;
    std::string footer;
};

void draw_athlete_page(cairo_t* cairo, const AthletePage& page, Theme theme);

// ---- each chart by itself, for a file of its own: drawn from (0, 0) -------------------------------------------------

struct ChartSize {
    double width = 0, height = 0;
};
[[nodiscard]] ChartSize test_chart_size(const TestStrip& test);
void draw_test_chart(cairo_t* cairo, const TestStrip& test, Theme theme);
[[nodiscard]] ChartSize plot_chart_size();
void draw_plot_chart(cairo_t* cairo, const TermPlot& plot, Theme theme);
[[nodiscard]] ChartSize answers_chart_size(const AthletePage& page);
void draw_answers_chart(cairo_t* cairo, const AthletePage& page, Theme theme);
[[nodiscard]] ChartSize rhythm_chart_size(const RhythmPeriod& period);
void draw_rhythm_chart(cairo_t* cairo, const RhythmPeriod& period, Theme theme);

}  // namespace breakstep::pages
