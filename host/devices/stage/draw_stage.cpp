#include "devices/stage/draw_stage.hpp"

#include <cairo.h>

#include <algorithm>

#include "devices/stage/screens.hpp"
#include "devices/stage/speech.hpp"
#include "report/drawing/limb.hpp"
#include "report/drawing/picture_file.hpp"
#include "report/drawing/shapes.hpp"

namespace breakstep {
namespace {

bool overlaps(HostTime begin, HostTime end, HostTime from, HostTime to) { return begin <= to && from < end; }

bool limb_changes(const StageView& view, HostTime from, HostTime to) {
    return std::any_of(view.attacks.begin(), view.attacks.end(), [&](const StageAttack& attack) {
        return overlaps(attack.toe_off - attack.lean, attack.toe_off + attack.timeline.end() + back_to_guard, from, to);
    });
}

/// Half as high as the screen, so that a photodiode on a stand finds it.
void draw_patch(const Canvas& canvas, const StageView& view, HostTime shown_at) {
    constexpr Colour dark{0, 0, 0}, white{255, 255, 255};
    const bool lit = std::any_of(view.attacks.begin(), view.attacks.end(), [&](const StageAttack& attack) {
        return shown_at >= attack.toe_off && shown_at < attack.toe_off + attack.timeline.end();
    });
    const double side = 36 * canvas.unit, left = canvas.width * canvas.unit / 2 - side / 2;
    fill_box(canvas.cairo, left, 18 * canvas.unit, side, side, lit ? white : dark);
}

bool flashes(const StageView& view, HostTime at) {
    return view.flash && at >= *view.flash && at < *view.flash + flash_stands;
}

/// Over whatever stands there, once in an evening.
void draw_flash(const Canvas& canvas) {
    constexpr double side = 30;
    fill_box(canvas.cairo, canvas.middle() - canvas.u(side / 2), canvas.u((Canvas::height - side) / 2), canvas.u(side),
             canvas.u(side), {255, 255, 255});
}

/// The last word of a set is read before what follows takes its place.
bool last_word_stands(const StageView& view, HostTime at) {
    const bool after = view.screen == StageScreen::rest || view.screen == StageScreen::summary;
    return after && view.verdict && !view.message && at >= view.verdict->since &&
           at < view.verdict->since + shown_whole + fades_in;
}

bool watch_changes(const StageTask& task, HostTime from, HostTime to) {
    if (!task.watch_since) return false;
    const HostTime begin = *task.watch_since + before_watching;
    return overlaps(begin, begin + watched_slower * (task.attack.end() + back_to_guard), from, to);
}

}  // namespace

void draw_stage(cairo_t* cairo, const StageView& view, HostTime shown_at, StageSize size, Theme theme) {
    const Palette& colours = palette(theme);
    const double unit = std::max(0.01, std::min(size.height / 72.0, size.width / 128.0));
    const Canvas canvas{cairo, theme, colours, unit, std::max(128.0, size.width / unit)};
    fill_box(cairo, 0, 0, size.width, size.height, colours.ground);
    cairo_save(cairo);
    cairo_translate(cairo, 0, (size.height - 72 * unit) / 2);
    if (view.patch) {
        draw_patch(canvas, view, shown_at);
        cairo_restore(cairo);
        return;
    }
    switch (last_word_stands(view, shown_at) ? StageScreen::live : view.screen) {
        case StageScreen::live:
            draw_live_screen(canvas, view, shown_at);
            break;
        case StageScreen::rest:
            draw_rest_screen(canvas, view, shown_at);
            break;
        case StageScreen::turns:
            draw_turns_screen(canvas, view, shown_at);
            break;
        case StageScreen::task:
            draw_task_screen(canvas, view, shown_at);
            break;
        case StageScreen::summary:
            draw_summary_screen(canvas, view);
            break;
        case StageScreen::block:
            draw_block_screen(canvas, view, shown_at);
            break;
        case StageScreen::pairs:
            draw_pairs_screen(canvas, view, shown_at);
            break;
    }
    if (flashes(view, shown_at)) draw_flash(canvas);
    cairo_restore(cairo);
}

bool stage_changes(const StageView& view, HostTime from, HostTime to) {
    if (flashes(view, from) != flashes(view, to) || (view.flash && overlaps(*view.flash, *view.flash, from, to)))
        return true;
    if (last_word_stands(view, from) || last_word_stands(view, to))
        return last_word_stands(view, from) != last_word_stands(view, to) ||
               speech_at(view, from) != speech_at(view, to);
    if (view.count && view.screen != StageScreen::rest && lamps_lit(*view.count, from) != lamps_lit(*view.count, to))
        return true;
    switch (view.screen) {
        case StageScreen::live:
            return limb_changes(view, from, to) || speech_at(view, from) != speech_at(view, to);
        case StageScreen::rest:
            return seconds_left(view.rest, from) != seconds_left(view.rest, to);
        case StageScreen::task:
            return watch_changes(view.task, from, to);
        case StageScreen::block:
            return seconds_left(view.block.begin, view.block.end, from) !=
                   seconds_left(view.block.begin, view.block.end, to);
        case StageScreen::pairs:
            return seconds_left(view.pairs.begin, view.pairs.end, from) !=
                   seconds_left(view.pairs.begin, view.pairs.end, to);
        case StageScreen::turns:
        case StageScreen::summary:
            return false;
    }
    return false;
}

Expected<void> write_stage_png(const std::string& path, const StageView& view, HostTime shown_at, StageSize size,
                               Theme theme) {
    return write_picture(path, size.width, size.height,
                         [&](cairo_t* cairo) { draw_stage(cairo, view, shown_at, size, theme); });
}

}  // namespace breakstep
