#include <algorithm>
#include <string>

#include "devices/stage/screens.hpp"
#include "devices/stage/speech.hpp"
#include "report/drawing/figure.hpp"
#include "report/drawing/text.hpp"

namespace breakstep {
namespace {

constexpr double hip_line = 33;  // everything in units
constexpr double floor_line = 60.5;
constexpr double hip_from_edge = 37.6;
constexpr double near_mark = 37.2;  // from the hip, along the floor
constexpr double far_mark = 57.2;
constexpr double back_mark = 82;
constexpr double mark_words = 4.2 * 0.72;  // 4.2 % of the height
constexpr double notice_words = 3.15 * 0.72;

/// The room, mirrored for the lead side: places along the floor are given from the hip, towards the athlete.
struct Room {
    const Canvas& canvas;
    double towards;  // +1 or -1

    [[nodiscard]] double hip_x() const { return towards > 0 ? hip_from_edge : canvas.width - hip_from_edge; }
    [[nodiscard]] double x(double from_hip) const { return canvas.u(hip_x() + towards * from_hip); }
    [[nodiscard]] double end() const { return canvas.width - hip_from_edge; }
};

FigurePlace place_in(const Room& room) {
    const Canvas& canvas = room.canvas;
    return {{room.x(0), canvas.u(hip_line)}, canvas.u(floor_line - hip_line), room.towards};
}

void draw_hip_line(const Room& room, bool quiet) {
    const Canvas& canvas = room.canvas;
    const Colour colour = quiet ? canvas.colours.dim : canvas.colours.hip_line;
    stroke_line(canvas.cairo, {0, canvas.u(hip_line)}, {canvas.u(canvas.width), canvas.u(hip_line)}, canvas.u(0.3),
                colour);
    if (quiet) return;
    const bool right = room.towards > 0;
    draw_text(canvas.cairo, "hip", right ? canvas.right() : canvas.left(), canvas.u(hip_line - 1.6),
              {canvas.u(mark_words), Weight::regular, canvas.colours.quiet}, right ? Anchor::end : Anchor::start);
}

void draw_floor(const Room& room) {
    const Canvas& canvas = room.canvas;
    stroke_line(canvas.cairo, {0, canvas.u(floor_line)}, {canvas.u(canvas.width), canvas.u(floor_line)}, canvas.u(0.2),
                canvas.colours.hip_line);
}

void draw_mark(const Room& room, double from_hip, const char* name, Anchor anchor = Anchor::middle) {
    const Canvas& canvas = room.canvas;
    fill_box(canvas.cairo, room.x(from_hip) - canvas.u(0.3), canvas.u(floor_line + 0.1), canvas.u(0.6), canvas.u(4.4),
             canvas.colours.quiet);
    draw_text(canvas.cairo, name, room.x(from_hip), canvas.u(68.9),
              {canvas.u(mark_words), Weight::regular, canvas.colours.quiet}, anchor);
}

void draw_marks(const Room& room, AthleteZone zone) {
    draw_mark(room, near_mark, "near");
    draw_mark(room, far_mark, "far");
    // The athlete's own word needs the place behind the back mark.
    const Anchor aside = room.towards > 0 ? Anchor::end : Anchor::start;
    draw_mark(room, back_mark, "back", zone == AthleteZone::beyond_back ? aside : Anchor::middle);
}

struct Stretch {
    double from;
    double to;
};

std::optional<Stretch> stretch_of(AthleteZone zone, double end) {
    constexpr double clear = 1.3;  // of the marks at both ends
    switch (zone) {
        case AthleteZone::unknown:
            return std::nullopt;
        case AthleteZone::inside_near:
            return Stretch{10.9, near_mark - clear};
        case AthleteZone::between:
            return Stretch{near_mark + clear, far_mark - clear};
        case AthleteZone::beyond_far:
            return Stretch{far_mark + clear, back_mark - clear};
        case AthleteZone::beyond_back:
            return Stretch{back_mark + clear, std::max(end, back_mark + clear + 3)};
    }
    return std::nullopt;
}

void draw_athlete(const Room& room, AthleteZone zone, bool in_danger) {
    const auto stretch = stretch_of(zone, room.end());
    if (!stretch) return;
    const Canvas& canvas = room.canvas;
    const double from = room.x(stretch->from);
    const double to = room.x(stretch->to);
    const Colour colour = in_danger ? canvas.colours.bad : canvas.colours.text;
    fill_box(canvas.cairo, std::min(from, to), canvas.u(floor_line + 1.9), std::abs(to - from), canvas.u(2.2), colour);
    const double middle =
        (std::clamp(from, 0.0, canvas.u(canvas.width)) + std::clamp(to, 0.0, canvas.u(canvas.width))) / 2;
    draw_text(canvas.cairo, "you", middle, canvas.u(68.9),
              {canvas.u(mark_words), Weight::semibold, canvas.colours.text}, Anchor::middle);
}

void draw_head(const Canvas& canvas, const StageView& view) {
    const double baseline = canvas.u(9.2);
    const double size = canvas.u(4.6);
    const std::string name = shortened(view.athlete, canvas.u(48), size, Weight::semibold);
    draw_text(canvas.cairo, name, canvas.left(), baseline, {size, Weight::semibold, canvas.colours.text});
    if (view.rep <= 0) return;
    double right = canvas.right();
    if (view.reps > 0)
        right -= draw_text(canvas.cairo, "of " + std::to_string(view.reps), right, baseline,
                           {size, Weight::regular, canvas.colours.quiet}, Anchor::end) +
                 canvas.u(2);
    draw_text(canvas.cairo, std::to_string(view.rep), right, baseline,
              {canvas.u(7.4), Weight::bold, canvas.colours.text}, Anchor::end);
}

FigurePose pose_at(const StageView& view, HostTime shown_at, bool quiet) {
    const auto now = attack_at(view, shown_at);
    FigurePose pose = now ? figure_pose(now->attack->timeline, now->since_toe_off) : figure_pose({}, {});
    pose.quiet = quiet;
    pose.lean = lean_at(view, shown_at);
    pose.watched = view.leans;
    return pose;
}

}  // namespace

void draw_live_screen(const Canvas& canvas, const StageView& view, HostTime shown_at) {
    const Room room{canvas, view.lead == Side::right ? 1.0 : -1.0};
    const FigurePlace place = place_in(room);
    // While something speaks the rep is decided or not yet begun: the room steps back and leaves the place to the
    // words.
    const bool quiet = speech_at(view, shown_at).what != Speech::What::nothing;
    const FigurePose pose = pose_at(view, shown_at, quiet);
    if (view.opponent) {
        if (!quiet) draw_closed_zone(canvas.cairo, place, canvas.colours);
        draw_trail(canvas.cairo, place, pose, canvas.colours);
    }
    draw_hip_line(room, quiet);
    draw_floor(room);
    if (view.opponent) draw_figure(canvas.cairo, place, pose, canvas.colours);
    draw_marks(room, view.zone);
    const bool leg_above = pose.phase == Phase::up || pose.phase == Phase::pull_back;
    draw_athlete(room, view.zone, !quiet && leg_above && view.zone == AthleteZone::inside_near);
    draw_head(canvas, view);
    if (quiet) draw_speech(canvas, view, shown_at);
    const Speech::What speaks = speech_at(view, shown_at).what;
    const bool room_for_it =
        speaks == Speech::What::nothing || speaks == Speech::What::prompt || speaks == Speech::What::count;
    if (room_for_it && pose.phase == Phase::guard) draw_notice(canvas, view, 14);
}

void draw_notice(const Canvas& canvas, const StageView& view, double baseline) {
    if (view.notice.empty()) return;
    const double room = canvas.right() - canvas.left();
    const double size = fitting_size(view.notice, room, canvas.u(mark_words), canvas.u(notice_words), Weight::regular);
    draw_text(canvas.cairo, shortened(view.notice, room, size, Weight::regular), canvas.left(), canvas.u(baseline),
              {size, Weight::regular, canvas.colours.quiet, TextRole::strip});
}

}  // namespace breakstep
