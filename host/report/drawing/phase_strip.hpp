// The phase strip: a row per rep, aligned at toe-off, each attack a hill (the height of the foot over time) cut into
// its phases, with the athlete's way from the step in to the contact on the floor and the verdict's shape on top of the
// contact.
//
// Pure cairo: the same call draws on the stage, into PNG, SVG and PDF. Values are the caller's; the thread is whoever
// owns the cairo context. Never fails; what does not fit the axis is cut at its edge.
#pragma once

#include <optional>
#include <vector>

#include "core/time.hpp"
#include "core/trade/vocabulary.hpp"
#include "report/drawing/attack_timeline.hpp"
#include "report/drawing/palette.hpp"

typedef struct _cairo cairo_t;

namespace breakstep {

struct StripRep {
    int number = 0;  ///< as the athlete counted it, from 1
    AttackTimeline attack;
    Verdict verdict = Verdict::void_rep;
    std::optional<Duration> commit;   ///< since toe-off; nothing: no commit seen
    std::optional<Duration> contact;  ///< since toe-off; nothing: no contact
};

/// Where and how large, in the context's own units. `unit` is the stage's u (10 px on a screen of 720); a page passes
/// what makes its smallest text 9 pt.
struct PhaseStripLayout {
    double left = 0;   ///< of the axis; row numbers stand 1.4 units left of it
    double top = 0;    ///< of the first row's hill
    double width = 0;  ///< of the axis
    double unit = 10;
    double pitch = 2.85;  ///< from row to row, in units; under 2.4 the words and every other number go
    Duration from{-100'000'000};
    Duration to{1'320'000'000};
    bool axis_words = true;     ///< "toe-off", "0.5 s", under the axis
    bool verdict_words = true;  ///< the column of shapes and words right of the axis, 20 units wide
};

/// How high the whole strip is, axis words included, for so many rows.
[[nodiscard]] double phase_strip_height(const PhaseStripLayout& layout, std::size_t rows);

void draw_phase_strip(cairo_t* cairo, const std::vector<StripRep>& reps, const PhaseStripLayout& layout, Theme theme);

/// Rows closer than this have no words.
inline constexpr double least_pitch_for_words = 2.4;

/// The row that says what the colours are: lift, up, drop, gap; you, from the step in to the contact. Returns its
/// width.
double draw_phase_legend(cairo_t* cairo, double left, double baseline, double unit, Theme theme);

/// Where the axis ends for these reps: 1.32 s, or the next quarter second that holds every attack and contact, at most
/// 3 s.
[[nodiscard]] Duration strip_end_for(const std::vector<StripRep>& reps);

}  // namespace breakstep
