// What the hall does while nobody is at the rig: the block's name, its clock, what to move meanwhile, what comes next.
#include <algorithm>
#include <string>

#include "devices/stage/screens.hpp"
#include "report/drawing/shapes.hpp"
#include "report/drawing/text.hpp"

namespace breakstep {
namespace {

constexpr double least = 4.2 * 0.72;  // units

void draw_line(const Canvas& canvas, const std::string& words, double baseline, double size, Weight weight,
               Colour colour) {
    const double room = canvas.right() - canvas.left();
    const double fits = fitting_size(words, room, canvas.u(size), canvas.u(least), weight);
    draw_text(canvas.cairo, shortened(words, room, fits, weight), canvas.left(), canvas.u(baseline),
              {fits, weight, colour});
}

}  // namespace

void draw_block_screen(const Canvas& canvas, const StageView& view, HostTime shown_at) {
    const StageBlock& block = view.block;
    const Palette& colours = canvas.colours;
    draw_text(canvas.cairo, view.turns.club, canvas.left(), canvas.u(7),
              {canvas.u(3.6), Weight::semibold, colours.quiet});
    draw_saved_sign(canvas, view, 7);
    draw_line(canvas, block.name, 20, 10, Weight::bold, colours.text);
    if (view.message)
        draw_line(canvas, view.message->what + " " + view.message->to_do, 28, 4.4, Weight::semibold, colours.text);
    else
        draw_line(canvas, block.what, 28, 4.4, Weight::regular, colours.text);
    if (block.end > block.begin) {
        const std::int64_t left = seconds_left(block.begin, block.end, shown_at);
        const std::int64_t whole = (block.end - block.begin + 999ms) / 1s;
        draw_text(canvas.cairo, clock_words(left), canvas.left() - canvas.u(0.6), canvas.u(48.6),
                  {canvas.u(20), Weight::bold, colours.text});
        const double done = whole > 0 ? static_cast<double>(whole - left) / static_cast<double>(whole) : 1;
        const double wide = canvas.right() - canvas.left();
        fill_box(canvas.cairo, canvas.left(), canvas.u(53), wide, canvas.u(0.8), colours.dim);
        fill_box(canvas.cairo, canvas.left(), canvas.u(53), wide * std::clamp(done, 0.0, 1.0), canvas.u(0.8),
                 colours.text);
    }
    if (!block.rig.empty()) draw_line(canvas, "On the rig: " + block.rig, 60.4, 4.6, Weight::bold, colours.text);
    if (!block.next.empty()) draw_line(canvas, "then " + block.next, 67.6, 4, Weight::regular, colours.quiet);
}

}  // namespace breakstep
