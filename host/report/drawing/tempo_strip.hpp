// The tempo strip: the athlete's own entries over the time of a set, each as high as the seconds since the entry
// before. Bands are the windows announced beforehand; an entry inside its band was caught (full dot), else free (ring).
//
// Pure cairo, as the phase strip: any thread that owns the context, never fails.
#pragma once

#include <optional>
#include <vector>

#include "core/time.hpp"
#include "core/vocabulary.hpp"
#include "report/drawing/palette.hpp"

typedef struct _cairo cairo_t;

namespace breakstep {

struct TempoWindow {
    Duration begin;  ///< of the announced window, as an interval from the entry before
    Duration end;
};

struct TempoEntry {
    Duration at;        ///< in the set: of the entry, or of the cut
    Duration interval;  ///< since the entry before
    bool cut = false;   ///< an attack came between: a stem up to the cut, no dot
    std::optional<TempoWindow> announced;
    bool caught = false;  ///< inside the announced window
};

struct TempoStrip {
    Duration length{};  ///< of the set, above zero
    std::vector<TempoEntry> entries;
    std::vector<Duration> attacks;  ///< toe-offs, as ticks under the axis
    Sign sign = Sign::none;
    int windows = 0;  ///< announced and left whole
    int caught = 0;
    int chance = 0;  ///< how many of them chance alone catches, rounded
};

struct TempoStripLayout {
    double left = 0;
    double top = 0;
    double width = 0;
    double unit = 10;        ///< as in PhaseStripLayout
    bool heading = true;     ///< "Your rhythm", and the legend
    bool answer = true;      ///< "Can you be timed?" at the right
    double answer_left = 0;  ///< where the answer begins, when shown
};

[[nodiscard]] double tempo_strip_height(const TempoStripLayout& layout);

void draw_tempo_strip(cairo_t* cairo, const TempoStrip& strip, const TempoStripLayout& layout, Theme theme);

}  // namespace breakstep
