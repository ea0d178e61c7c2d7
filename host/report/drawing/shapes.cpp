#include "report/drawing/shapes.hpp"

#include <cairo.h>

#include <algorithm>
#include <cmath>

namespace breakstep {
namespace {

constexpr double pi = 3.14159265358979323846;

}  // namespace

void fill_tapered_bar(cairo_t* cairo, Point from, double from_radius, Point to, double to_radius, Colour colour) {
    const double across = std::hypot(to.x - from.x, to.y - from.y);
    const double along = std::atan2(to.y - from.y, to.x - from.x);
    // Where the touching lines leave the discs; one disc inside the other leaves no line.
    const double lean = across > 0 ? std::acos(std::clamp((from_radius - to_radius) / across, -1.0, 1.0)) : pi / 2;
    cairo_new_path(cairo);
    cairo_arc(cairo, from.x, from.y, from_radius, along + lean, along - lean + 2 * pi);
    cairo_arc(cairo, to.x, to.y, to_radius, along - lean, along + lean);
    cairo_close_path(cairo);
    set_colour(cairo, colour);
    cairo_fill(cairo);
}

void hatch_path(cairo_t* cairo, double spacing, double thickness, Colour colour) {
    double left = 0;
    double top = 0;
    double right = 0;
    double bottom = 0;
    cairo_path_extents(cairo, &left, &top, &right, &bottom);
    if (right <= left || bottom <= top) {
        cairo_new_path(cairo);
        return;
    }
    cairo_save(cairo);
    cairo_clip(cairo);
    const double step = spacing * std::sqrt(2.0);  // along the x axis
    const double height = bottom - top;
    // The line x + y = n * step, from (n * step - bottom, bottom) up to the right.
    const double first = std::floor((left + top) / step);
    const double last = std::ceil((right + bottom) / step);
    for (double n = first; n <= last; ++n) {
        cairo_move_to(cairo, n * step - bottom, bottom);
        cairo_rel_line_to(cairo, height, -height);
    }
    cairo_set_line_width(cairo, thickness);
    cairo_set_line_cap(cairo, CAIRO_LINE_CAP_SQUARE);
    set_colour(cairo, colour);
    cairo_stroke(cairo);
    cairo_restore(cairo);
}

void fill_box(cairo_t* cairo, double x, double y, double width, double height, Colour colour) {
    if (width <= 0 || height <= 0) return;
    cairo_rectangle(cairo, x, y, width, height);
    set_colour(cairo, colour);
    cairo_fill(cairo);
}

void fill_disc(cairo_t* cairo, Point centre, double radius, Colour colour) {
    cairo_new_path(cairo);
    cairo_arc(cairo, centre.x, centre.y, radius, 0, 2 * pi);
    set_colour(cairo, colour);
    cairo_fill(cairo);
}

void stroke_ring(cairo_t* cairo, Point centre, double radius, double thickness, Colour colour) {
    cairo_new_path(cairo);
    cairo_arc(cairo, centre.x, centre.y, radius, 0, 2 * pi);
    cairo_set_line_width(cairo, thickness);
    set_colour(cairo, colour);
    cairo_stroke(cairo);
}

void stroke_line(cairo_t* cairo, Point from, Point to, double thickness, Colour colour) {
    cairo_new_path(cairo);
    cairo_move_to(cairo, from.x, from.y);
    cairo_line_to(cairo, to.x, to.y);
    cairo_set_line_width(cairo, thickness);
    cairo_set_line_cap(cairo, CAIRO_LINE_CAP_BUTT);
    set_colour(cairo, colour);
    cairo_stroke(cairo);
}

}  // namespace breakstep
