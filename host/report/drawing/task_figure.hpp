// What a drill asks for, as a drawing: the foot's way with the asked part thick, where it is closed and where a strike
// is right; the pads as they hang; the feet of both. Understood without words, from four metres.
//
// Pure cairo, any thread that owns the context; never fails. Used by the stage's task and, at any size, by pages.
#pragma once

#include "core/trade/drill.hpp"
#include "report/drawing/attack_timeline.hpp"
#include "report/drawing/figure.hpp"

namespace breakstep {

struct TaskFigure {
    AttackTimeline attack;
    MomentSet moments = 0;
    bool around = false;  ///< the held leg is asked: the thick part is the way up to it
    bool leans = false;   ///< the trunk leans back: what comes before the kick
};

/// The opponent with the foot's whole way, the closed zone and its sign; the asked part thick, its sector tinted.
void draw_task_figure(cairo_t* cairo, const FigurePlace& place, const TaskFigure& task, const Palette& colours);

/// The way in and the strike: along the floor, up, the sign of a strike on time (or around) and a wedge to the leg.
void draw_strike_on_time(cairo_t* cairo, const FigurePlace& place, bool around, const Palette& colours);

/// Four pads in a frame of side `side`, as they hang; those of `right` are full. 0: all.
void draw_pads(cairo_t* cairo, double left, double top, double side, PadSet right, const Palette& colours);
/// "high", "low right", "any pad"
[[nodiscard]] const char* words_of_pads(PadSet right);

/// The feet of both from above, in a box of `width`: full ones are the athlete's. `towards` as FigurePlace's.
struct Feet {
    Side athlete_front = Side::right, opponent_front = Side::right;
    double towards = 1;
};
void draw_feet(cairo_t* cairo, double left, double top, double width, const Feet& feet, const Palette& colours);

}  // namespace breakstep
