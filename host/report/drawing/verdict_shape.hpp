// The shape of each verdict. The upright bar is the moment, the disc is the strike, the wedge is a line of attack, the
// square is a place, the diamond is a feint: so a verdict is told without its colour.
//
// Pure cairo, any thread that owns the context; never fails.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "core/time.hpp"
#include "core/trade/vocabulary.hpp"
#include "report/drawing/palette.hpp"
#include "report/drawing/shapes.hpp"

typedef struct _cairo cairo_t;

namespace breakstep {

/// Draws the verdict's shape in its colour; `size` is its height, its width is at most shape_width(). `simple` is for
/// shapes too small for inner lines: on time becomes the disc alone.
void draw_verdict_shape(cairo_t* cairo, Verdict verdict, Point centre, double size, const Palette& colours,
                        bool simple);
[[nodiscard]] double shape_width(Verdict verdict, double size);

/// The athlete's own entries as upright bars, true distances between them: the last six of `entries` (times, rising).
/// Returns the width. `left` is the first bar's edge, `middle` the height of the bars' middle.
double draw_entry_bars(cairo_t* cairo, const std::vector<Duration>& entries, double left, double middle, double size,
                       Colour colour);
[[nodiscard]] double entry_bars_width(const std::vector<Duration>& entries, double size);

/// The verdict as said on the stage: its word, with a capital.
[[nodiscard]] std::string spoken(Verdict verdict);

}  // namespace breakstep
