// The rhythm lane: a column for each of the athlete's step-ins, as far above or below the middle of the guess
// as it came sooner or later. The lane is the guess: a step-in inside it was caught (full dot), else free (ring, well
// off the lane). A small dot had no guess yet; an upright bar was cut by an attack. What lies beyond the drawing stands
// at its edge, with a bar across.
//
// Pure cairo, as the phase strip: any thread that owns the context, never fails.
#pragma once

#include <optional>
#include <vector>

#include "core/time.hpp"
#include "core/trade/vocabulary.hpp"
#include "report/drawing/palette.hpp"

typedef struct _cairo cairo_t;

namespace breakstep {

/// When the next step-in is guessed, as intervals from the step-in before; end above begin.
struct Guess {
    Duration begin;
    Duration end;
};

struct StepIn {
    Duration interval;  ///< since the step-in before, or to the attack that cut it
    bool cut = false;   ///< an attack came first
    std::optional<Guess> guess;  ///< one that counted: of a cut interval it had passed before the attack
    bool caught = false;  ///< inside the guess
};

struct RhythmLane {
    std::vector<StepIn> steps;  ///< in order
    Sign sign = Sign::none;
    int windows = 0;  ///< guesses that counted
    int caught = 0;
    int chance = 0;  ///< how many of them luck alone catches, rounded
};

struct RhythmLaneLayout {
    double left = 0;  ///< of the lane; its words stand left of it
    double top = 0;
    double width = 0;
    double unit = 10;         ///< as in PhaseStripLayout
    double height = 17;       ///< of the lane with all that lies above and below it, in units
    bool heading = true;      ///< "Your step-ins", and what full and hollow mean, above it
    bool answer = true;       ///< "Can you be timed?" at the right
    double answer_left = 0;   ///< where the answer begins, when shown ...
    double answer_right = 0;  ///< ... and ends
};

/// Of the heading, when shown, in units: the lane begins so far below the top.
inline constexpr double rhythm_heading_height = 4.7;

void draw_rhythm_lane(cairo_t* cairo, const RhythmLane& lane, const RhythmLaneLayout& layout, Theme theme);

}  // namespace breakstep
