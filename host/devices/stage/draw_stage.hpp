// The stage as a picture: a pure function of the view and of the moment at which the picture will be seen.
//
// Any thread that owns the cairo context (text layouts are kept per thread). Never fails; draws every pixel.
#pragma once

#include <string>

#include "core/error.hpp"
#include "core/time.hpp"
#include "devices/stage/stage_view.hpp"
#include "report/drawing/palette.hpp"

typedef struct _cairo cairo_t;

namespace breakstep {

struct StageSize {
    int width = 1280;
    int height = 720;
};

void draw_stage(cairo_t* cairo, const StageView& view, HostTime shown_at, StageSize size, Theme theme);

/// True when the picture of `view` at `to` differs from the one at `from`: something moves, fades or counts between
/// them. A still picture needs no redrawing before the next view.
[[nodiscard]] bool stage_changes(const StageView& view, HostTime from, HostTime to);

/// The same picture into a PNG file. Errors: the file can't be written.
[[nodiscard]] Expected<void> write_stage_png(const std::string& path, const StageView& view, HostTime shown_at,
                                             StageSize size = {}, Theme theme = Theme::dark_hall);

}  // namespace breakstep
