// The screens. Each draws on a canvas whose ground is already laid.
#pragma once

#include "core/time.hpp"
#include "devices/stage/canvas.hpp"
#include "devices/stage/stage_view.hpp"

namespace breakstep {

void draw_live_screen(const Canvas& canvas, const StageView& view, HostTime shown_at);
void draw_rest_screen(const Canvas& canvas, const StageView& view, HostTime shown_at);
void draw_turns_screen(const Canvas& canvas, const StageView& view, HostTime shown_at);

void draw_task_screen(const Canvas& canvas, const StageView& view, HostTime shown_at);
void draw_summary_screen(const Canvas& canvas, const StageView& view);
void draw_block_screen(const Canvas& canvas, const StageView& view, HostTime shown_at);
void draw_pairs_screen(const Canvas& canvas, const StageView& view, HostTime shown_at);

/// What fills the place above the hip line when something speaks (live_speech.cpp).
void draw_speech(const Canvas& canvas, const StageView& view, HostTime shown_at);

/// Three lamps, `lit` of them, the first one's centre at x.
void draw_lamps(const Canvas& canvas, double x, double y, double radius, double step, int lit);

/// The view's notice, in the quiet colour, as large as the names of the marks if it fits.
void draw_notice(const Canvas& canvas, const StageView& view, double baseline);

/// "saved" or "saving" at the right end of a baseline.
void draw_saved_sign(const Canvas& canvas, const StageView& view, double baseline);

/// Whole seconds left of a time, rounded up; 0 when it is over.
[[nodiscard]] std::int64_t seconds_left(HostTime begin, HostTime end, HostTime shown_at);
[[nodiscard]] inline std::int64_t seconds_left(const StageRest& rest, HostTime shown_at) {
    return seconds_left(rest.begin, rest.end, shown_at);
}
/// "1:05"
[[nodiscard]] std::string clock_words(std::int64_t seconds);

}  // namespace breakstep
