// A class without a rig. A tile stands where its pair stands; only who attacks faces the screen, so a tile may say what
// comes. Silent: a tone on the attack would tell the defender when. Names stand at change over only.
#include <algorithm>
#include <cmath>
#include <string>

#include "devices/stage/screens.hpp"
#include "report/drawing/figure.hpp"
#include "report/drawing/text.hpp"
#include "report/drawing/verdict_shape.hpp"

namespace breakstep {
namespace {

constexpr double least = 4.2 * 0.72;  // units
constexpr double apart = 1.3;
constexpr double landed_angle = 40;

struct Grid {
    int columns, rows;
    double top, width, height;  // units
};

Grid grid_of(const Canvas& canvas, std::size_t tiles, double top) {
    const int count = std::max(1, static_cast<int>(tiles));
    const int rows = count <= 5 ? 1 : 2;
    const int columns = (count + rows - 1) / rows;
    const double wide = canvas.width - 2 * Canvas::margin;
    // Few pairs get larger tiles, but none that is taller than wide by half.
    const double width = (wide - (columns - 1) * apart) / columns;
    const double height = std::min((68 - top - (rows - 1) * apart) / rows, 1.35 * width);
    return {columns, rows, top, width, height};
}

struct Tile {
    double left, top, width, height;  // units
};

Tile tile_at(const Grid& grid, std::size_t index) {
    const auto column = static_cast<double>(static_cast<int>(index) % grid.columns);
    const auto row = static_cast<double>(static_cast<int>(index) / grid.columns);
    return {Canvas::margin + column * (grid.width + apart), grid.top + row * (grid.height + apart), grid.width,
            grid.height};
}

/// Poses that say what the attack is: the limb at its highest, a second one where it springs or comes again.
std::vector<LimbPose> poses_of(AttackKind kind) {
    constexpr LimbPose high{125, 1.3}, sprung{104, 1.32}, held{106, 0.95}, rising{62, 0.83};
    switch (kind) {
        case AttackKind::rebound:
            return {high, sprung};
        case AttackKind::carry:
            return {held};
        case AttackKind::feint:
            return {rising};
        default:
            return {high};
    }
}

void draw_attack(const Canvas& canvas, const Tile& tile, AttackKind kind) {
    const Palette& colours = canvas.colours;
    const double h = std::min(9.2, tile.height * 0.35);
    const double hip_y = tile.top + tile.height * 0.415, hip_x = tile.left + tile.width * 0.5 - 0.62 * h;
    const FigurePlace place{{canvas.u(hip_x), canvas.u(hip_y)}, canvas.u(h), 1};
    const double from = canvas.u(tile.left + 1.2), to = canvas.u(tile.left + tile.width - 1.2);
    const bool feint = kind == AttackKind::feint;
    FigurePose pose;
    pose.trunk = false;
    pose.phase = feint ? Phase::lift : Phase::up;
    if (!feint) draw_closed_zone(canvas.cairo, place, colours, true);
    if (feint) {
        for (double angle = guard_pose().angle; angle <= poses_of(kind).front().angle; angle += 2)
            pose.trail.push_back({angle, 1 / std::cos(guard_pose().angle * 3.14159265358979 / 180) - 0.2 * angle / 62});
        pose.limb = poses_of(kind).front();
        draw_trail(canvas.cairo, place, pose, colours);
        pose.trail.clear();
    }
    stroke_line(canvas.cairo, {from, canvas.u(hip_y)}, {to, canvas.u(hip_y)}, canvas.u(0.34), colours.hip_line);
    stroke_line(canvas.cairo, {from, canvas.u(hip_y + h)}, {to, canvas.u(hip_y + h)}, canvas.u(0.2), colours.hip_line);
    if (kind == AttackKind::reset) {  // the foot that lands between two kicks
        pose.limb = {landed_angle, 1 / std::cos(landed_angle * 3.14159265358979 / 180)};
        pose.phase = Phase::gap;
        draw_figure(canvas.cairo, place, pose, colours);
        pose.phase = Phase::up;
    }
    for (const LimbPose& limb : poses_of(kind)) {
        pose.limb = limb;
        draw_figure(canvas.cairo, place, pose, colours);
    }
}

const char* second_word(AttackKind kind) {
    if (kind == AttackKind::reset) return "kick, kick";
    if (kind == AttackKind::leg_to_hands) return "kick, hands";
    return nullptr;
}

void draw_place(const Canvas& canvas, const Tile& tile, int place) {
    draw_text(canvas.cairo, std::to_string(place), canvas.u(tile.left + 1.4), canvas.u(tile.top + 6.4),
              {canvas.u(6.77), Weight::bold, canvas.colours.text});
}

void draw_cue_tile(const Canvas& canvas, const Tile& tile, const PairTile& pair) {
    const Palette& colours = canvas.colours;
    fill_box(canvas.cairo, canvas.u(tile.left), canvas.u(tile.top), canvas.u(tile.width), canvas.u(tile.height),
             colours.raised);
    if (!pair.holds) draw_attack(canvas, tile, pair.kind);
    draw_place(canvas, tile, pair.place);
    const char* special = second_word(pair.kind);
    const std::string said = pair.holds ? "wait" : special != nullptr ? special : std::string(word(pair.kind));
    const double room = canvas.u(tile.width - 2.4);
    const double size = fitting_size(said, room, canvas.u(3.5), canvas.u(least), Weight::semibold);
    draw_text(canvas.cairo, shortened(said, room, size, Weight::semibold), canvas.u(tile.left + tile.width - 1.4),
              canvas.u(tile.top + tile.height - 1.7), {size, Weight::semibold, colours.text}, Anchor::end);
}

void draw_name(const Canvas& canvas, const Tile& tile, const std::string& name, double baseline, double size,
               Weight weight) {
    const double room = canvas.u(tile.width - 2.6);
    const double fits = fitting_size(name, room, canvas.u(size), canvas.u(least), weight);
    draw_text(canvas.cairo, shortened(name, room, fits, weight), canvas.u(tile.left + 1.4), canvas.u(baseline),
              {fits, weight, canvas.colours.text});
}

void draw_change_tile(const Canvas& canvas, const Tile& tile, const PairTile& pair) {
    fill_box(canvas.cairo, canvas.u(tile.left), canvas.u(tile.top), canvas.u(tile.width), canvas.u(tile.height),
             canvas.colours.raised);
    draw_place(canvas, tile, pair.place);
    draw_name(canvas, tile, pair.attacks, tile.top + 12.6, 4.2, Weight::bold);
    draw_text(canvas.cairo, "attacks", canvas.u(tile.left + 1.4), canvas.u(tile.top + 16.4),
              {canvas.u(least), Weight::regular, canvas.colours.quiet});
    draw_name(canvas, tile, pair.defends, tile.top + 22, 3.6, Weight::regular);
}

void draw_cue_head(const Canvas& canvas, const StagePairs& pairs, HostTime shown_at) {
    const Palette& colours = canvas.colours;
    constexpr double y = 7.4, radius = 3.3, step = 7.2;
    // As many discs as seconds are left: only who attacks sees them.
    if (pairs.cues == 0) {  // a pause
        draw_text(canvas.cairo, pairs.words, canvas.left(), canvas.u(9.4), {canvas.u(5.6), Weight::bold, colours.text});
        return;
    }
    const std::int64_t left = seconds_left(pairs.begin, pairs.end, shown_at);
    const auto whole = std::min<std::int64_t>(6, std::max<std::int64_t>(1, (pairs.end - pairs.begin + 999ms) / 1s));
    for (std::int64_t i = 0; i < whole; ++i) {
        const Point centre{canvas.left() + canvas.u(radius + step * static_cast<double>(i)), canvas.u(y)};
        if (i < left)
            fill_disc(canvas.cairo, centre, canvas.u(radius), colours.text);
        else
            stroke_ring(canvas.cairo, centre, canvas.u(radius - 0.25), canvas.u(0.5), colours.hip_line);
    }
    const double count =
        draw_text(canvas.cairo, std::to_string(pairs.cue) + " of " + std::to_string(pairs.cues), canvas.right(),
                  canvas.u(9.4), {canvas.u(5.4), Weight::bold, colours.text}, Anchor::end);
    const double words = canvas.left() + canvas.u(step * static_cast<double>(whole) + 3.4);
    const double room = canvas.right() - count - canvas.u(2) - words;
    const double size = fitting_size(pairs.words, room, canvas.u(5.6), canvas.u(least), Weight::bold);
    draw_text(canvas.cairo, shortened(pairs.words, room, size, Weight::bold), words, canvas.u(9.4),
              {size, Weight::bold, colours.text});
}

void draw_change_head(const Canvas& canvas, const StagePairs& pairs, HostTime shown_at) {
    const Palette& colours = canvas.colours;
    draw_text(canvas.cairo, pairs.words, canvas.left(), canvas.u(9.2), {canvas.u(5.8), Weight::bold, colours.text});
    draw_text(canvas.cairo, clock_words(seconds_left(pairs.begin, pairs.end, shown_at)), canvas.right(), canvas.u(9.2),
              {canvas.u(5.8), Weight::bold, colours.text}, Anchor::end);
    draw_text(canvas.cairo, "The one who attacks faces the screen.", canvas.left(), canvas.u(14),
              {canvas.u(3.5), Weight::regular, colours.quiet});
}

}  // namespace

void draw_pairs_screen(const Canvas& canvas, const StageView& view, HostTime shown_at) {
    const StagePairs& pairs = view.pairs;
    const Grid grid = grid_of(canvas, pairs.tiles.size(), pairs.change_over ? 17.6 : 13.6);
    if (pairs.change_over)
        draw_change_head(canvas, pairs, shown_at);
    else
        draw_cue_head(canvas, pairs, shown_at);
    for (std::size_t i = 0; i < pairs.tiles.size(); ++i) {
        const Tile tile = tile_at(grid, i);
        if (pairs.change_over)
            draw_change_tile(canvas, tile, pairs.tiles[i]);
        else
            draw_cue_tile(canvas, tile, pairs.tiles[i]);
    }
}

}  // namespace breakstep
