// The colours, by what they mean; nobody else in the program names a colour. Four sets: a dark hall, a bright hall,
// paper (the bright set on white), and paper from a printer without colours (each grey as light as its colour). Chosen
// for contrast against the ground and for the common kinds of colour vision. Constants, any thread.
#pragma once

#include <cstdint>

#include "core/trade/vocabulary.hpp"

typedef struct _cairo cairo_t;

namespace breakstep {

enum class Theme : std::uint8_t { dark_hall, bright_hall, paper, grey_paper };

struct Colour {
    std::uint8_t red = 0;
    std::uint8_t green = 0;
    std::uint8_t blue = 0;

    constexpr bool operator==(const Colour&) const = default;
};

struct Palette {
    Colour ground, raised;
    Colour text, quiet;  ///< words; second words and marks
    Colour figure;       ///< the limb in guard
    Colour hip_line;     ///< hip line, floor, axes
    Colour dim;          ///< grid only, never carries meaning
    Colour lift, gap, drop;
    Colour clash;  ///< the limb when up; areas are always hatched
    Colour good, bad, held;
    Colour nudge;  ///< habits: nudge, tell, announced windows
};

[[nodiscard]] const Palette& palette(Theme theme);

[[nodiscard]] Colour colour_of(Phase phase, const Palette& colours);
[[nodiscard]] Colour colour_of(Moment moment, const Palette& colours);
[[nodiscard]] Colour colour_of(Verdict verdict, const Palette& colours);

/// `share` (0..1) of `over` laid on `under`: a flat colour, so that nothing depends on what was drawn before.
[[nodiscard]] Colour blend(Colour under, Colour over, double share);

/// `colour` laid thinly on `ground` for the trail of an open phase: 20 %, or less where that would change the relative
/// luminance by more than .085, so that a large area never flashes.
[[nodiscard]] Colour tint(Colour ground, Colour colour);

/// Relative luminance, 0..1 (WCAG 2.2, definition of relative luminance; sRGB).
[[nodiscard]] double relative_luminance(Colour colour);
/// (lighter + .05) / (darker + .05), 1..21 (WCAG 2.2, definition of contrast ratio).
[[nodiscard]] double contrast(Colour one, Colour other);

void set_colour(cairo_t* cairo, Colour colour);

}  // namespace breakstep
