// The opponent as a picture: one limb that turns about a hip point, a trunk behind it, the trail it leaves, and the
// zone above the hip line that is closed to a strike.
//
// Pure cairo, any thread that owns the context; never fails. Used by the stage, by pair drills and by pages, at any
// size.
#pragma once

#include <optional>
#include <vector>

#include "core/trade/vocabulary.hpp"
#include "report/drawing/limb.hpp"
#include "report/drawing/palette.hpp"
#include "report/drawing/shapes.hpp"

typedef struct _cairo cairo_t;

namespace breakstep {

/// Where the figure stands. `towards` is +1 when the athlete is to the right of it, -1 when to the left.
struct FigurePlace {
    Point hip;
    double height = 275;  ///< of the hip above the floor, in the context's units
    double towards = 1;
};

struct FigurePose {
    Phase phase = Phase::guard;
    LimbPose limb;
    std::vector<LimbPose> trail;
    std::optional<double> arm;
    /// The rep is decided: the limb goes on, in quiet, without trunk, trail or colours.
    bool quiet = false;
    /// How far the trunk leans back and the standing heel has risen, 0 .. 1: what comes before a kick of an opponent
    /// that gives itself away.
    double lean = 0;
    /// The drill has leans: trunk and standing leg are seen well all the time, or their colour would tell of one.
    bool watched = false;
    bool trunk = true;  ///< false: legs alone, for small pictures
};

[[nodiscard]] FigurePose figure_pose(const AttackTimeline& attack, Duration since_toe_off);

/// The foot's centre, never under the floor.
[[nodiscard]] Point foot_point(const FigurePlace& place, LimbPose pose);

/// The hatch over the closed zone (90 to 128 degrees, full reach): faint on the live stage, or `strong` (3 to 1).
void draw_closed_zone(cairo_t* cairo, const FigurePlace& place, const Palette& colours, bool strong = false);

/// A place in the figure's room: angle and reach as a limb's.
[[nodiscard]] Point point_at(const FigurePlace& place, LimbPose pose);

/// The colour of trunk and standing leg: faint, or with 3 to 1 against the ground.
[[nodiscard]] Colour trunk_colour(const Palette& colours, bool watched);
/// The trail lies under the hip line: draw it, then the line, then the figure.
void draw_trail(cairo_t* cairo, const FigurePlace& place, const FigurePose& pose, const Palette& colours);
void draw_figure(cairo_t* cairo, const FigurePlace& place, const FigurePose& pose, const Palette& colours);

}  // namespace breakstep
