#include "report/drawing/figure.hpp"

#include <cairo.h>

#include <algorithm>
#include <cmath>

namespace breakstep {
namespace {

constexpr double pi = 3.14159265358979323846;
constexpr double hatch_spacing = 0.05;  // of the hip's height

Point polar(const FigurePlace& place, LimbPose pose) {
    const double angle = pose.angle * pi / 180;
    const double reach = pose.reach * place.height;
    return {place.hip.x + place.towards * reach * std::sin(angle), place.hip.y + reach * std::cos(angle)};
}

double hip_radius(double reach) { return 0.105 * std::pow(reach, -0.35); }
double foot_radius(double reach) { return 0.058 * std::pow(reach, -0.175); }

Point beside(const FigurePlace& place, double towards, double below) {
    return {place.hip.x + place.towards * towards * place.height, place.hip.y + below * place.height};
}

void draw_standing_leg(cairo_t* cairo, const FigurePlace& place, Colour colour) {
    const double h = place.height;
    fill_tapered_bar(cairo, place.hip, 0.075 * h, beside(place, -0.1, 0.965), 0.035 * h, colour);
}

void draw_trunk(cairo_t* cairo, const FigurePlace& place, Colour colour) {
    const double h = place.height;
    fill_tapered_bar(cairo, place.hip, 0.075 * h, beside(place, 0.02, -0.782), 0.045 * h, colour);
}

void draw_arm(cairo_t* cairo, const FigurePlace& place, double length, Colour colour) {
    const double h = place.height;
    fill_tapered_bar(cairo, beside(place, 0.02, -0.62), 0.062 * h, beside(place, 0.02 + length, -0.6), 0.044 * h,
                     colour);
}

void draw_limb(cairo_t* cairo, const FigurePlace& place, LimbPose pose, Colour colour) {
    const double h = place.height;
    fill_tapered_bar(cairo, place.hip, hip_radius(pose.reach) * h, foot_point(place, pose), foot_radius(pose.reach) * h,
                     colour);
}

}  // namespace

FigurePose figure_pose(const AttackTimeline& attack, Duration since_toe_off) {
    FigurePose pose;
    const auto index = attack.index_at(since_toe_off);
    pose.phase = index ? attack.phases[*index].phase : Phase::guard;
    pose.limb = limb_at(attack, since_toe_off);
    pose.trail = trail_at(attack, since_toe_off);
    pose.arm = arm_at(attack, since_toe_off);
    return pose;
}

Point foot_point(const FigurePlace& place, LimbPose pose) {
    Point foot = polar(place, pose);
    foot.y = std::min(foot.y, place.hip.y + (1 - foot_radius(pose.reach)) * place.height);
    return foot;
}

void draw_closed_zone(cairo_t* cairo, const FigurePlace& place, const Palette& colours) {
    constexpr double full_reach = 1.32;
    cairo_new_path(cairo);
    cairo_move_to(cairo, place.hip.x, place.hip.y);
    for (int angle = 90; angle <= 128; angle += 2) {
        const Point edge = polar(place, {static_cast<double>(angle), full_reach});
        cairo_line_to(cairo, edge.x, edge.y);
    }
    cairo_close_path(cairo);
    hatch_path(cairo, hatch_spacing * place.height, 0.008 * place.height, blend(colours.ground, colours.clash, 0.3));
}

void draw_trail(cairo_t* cairo, const FigurePlace& place, const FigurePose& pose, const Palette& colours) {
    if (pose.trail.size() < 2 || pose.quiet) return;
    cairo_new_path(cairo);
    cairo_move_to(cairo, place.hip.x, place.hip.y);
    const double floor = place.hip.y + place.height;
    for (const LimbPose& was : pose.trail) {
        const Point foot = polar(place, was);
        cairo_line_to(cairo, foot.x, std::min(foot.y, floor));
    }
    cairo_close_path(cairo);
    if (is_closed(pose.phase)) {
        hatch_path(cairo, hatch_spacing * place.height, 0.018 * place.height, colours.clash);
    } else {
        set_colour(cairo, tint(colours.ground, colour_of(pose.phase, colours)));
        cairo_fill(cairo);
    }
}

void draw_figure(cairo_t* cairo, const FigurePlace& place, const FigurePose& pose, const Palette& colours) {
    const double h = place.height;
    const Colour behind = blend(colours.ground, colours.figure, pose.quiet ? 0.16 : 0.3);
    // Hands close the line while the leg is down: then the arm has the colour, the leg stands in guard.
    const Phase of_limb = pose.phase == Phase::hands ? Phase::guard : pose.phase;
    const Colour limb = pose.quiet ? blend(colours.ground, colours.figure, 0.34) : colour_of(of_limb, colours);
    draw_standing_leg(cairo, place, behind);
    if (!pose.quiet) draw_trunk(cairo, place, behind);
    if (pose.arm) draw_arm(cairo, place, *pose.arm, pose.quiet ? limb : colours.clash);
    draw_limb(cairo, place, pose.limb, limb);
    fill_disc(cairo, place.hip, 0.045 * h, colours.ground);
    if (pose.phase == Phase::gap) {
        const Point foot = foot_point(place, pose.limb);
        fill_box(cairo, foot.x - 0.22 * h, place.hip.y + h, 0.44 * h, 0.04 * h, limb);
    }
}

}  // namespace breakstep
