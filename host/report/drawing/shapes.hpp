// The few shapes that everything is drawn with: the tapered bar of a limb, hatching at 45 degrees, a line, a box.
// Pure cairo, any thread that owns the context; never fails. Flat fills only.
#pragma once

#include "report/drawing/palette.hpp"

typedef struct _cairo cairo_t;

namespace breakstep {

struct Point {
    double x = 0;
    double y = 0;
};

/// Two discs and the straight edges that touch both: thick at `from`, thin at `to`.
void fill_tapered_bar(cairo_t* cairo, Point from, double from_radius, Point to, double to_radius, Colour colour);

/// Fills the current path with lines at 45 degrees and clears the path. The lines are `spacing` apart and `thickness`
/// thick, both across, and lie on one grid for the whole picture, so that areas that meet or move do not shimmer.
void hatch_path(cairo_t* cairo, double spacing, double thickness, Colour colour);

void fill_box(cairo_t* cairo, double x, double y, double width, double height, Colour colour);
void fill_disc(cairo_t* cairo, Point centre, double radius, Colour colour);
void stroke_ring(cairo_t* cairo, Point centre, double radius, double thickness, Colour colour);
void stroke_line(cairo_t* cairo, Point from, Point to, double thickness, Colour colour);

}  // namespace breakstep
