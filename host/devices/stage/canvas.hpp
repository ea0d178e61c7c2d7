// The stage's sheet while a picture is drawn: a context, a theme, and the unit u everything is measured in (a 72nd of
// the height, a 128th of the width where the screen is narrower than 16 to 9).
//
// Made by draw_stage() for one picture, on its thread.
#pragma once

#include <algorithm>

#include "report/drawing/palette.hpp"

typedef struct _cairo cairo_t;

namespace breakstep {

struct Canvas {
    cairo_t* cairo;
    Theme theme;
    const Palette& colours;
    double unit;
    double width;  ///< in units, 128 or more

    [[nodiscard]] double u(double units) const { return units * unit; }
    [[nodiscard]] double right() const { return u(width - margin); }
    [[nodiscard]] double left() const { return u(margin); }
    [[nodiscard]] double middle() const { return u(width / 2); }

    static constexpr double margin = 6;
    static constexpr double height = 72;
};

}  // namespace breakstep
