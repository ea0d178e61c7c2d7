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

/// The heel rises with the lean, the toe stays.
void draw_standing_leg(cairo_t* cairo, const FigurePlace& place, double lean, Colour colour) {
    const double h = place.height, raised = 0.055 * lean;
    fill_tapered_bar(cairo, place.hip, 0.075 * h, beside(place, -0.1, 0.955 - raised), 0.035 * h, colour);
    fill_tapered_bar(cairo, beside(place, -0.109, 0.965 - raised), 0.034 * h, beside(place, 0.052, 0.968), 0.027 * h,
                     colour);
}

void draw_trunk(cairo_t* cairo, const FigurePlace& place, double lean, Colour colour) {
    constexpr double leans_by = 10, length = 0.782, upright = 0.02;
    const double h = place.height, back = leans_by * lean * pi / 180;
    fill_tapered_bar(cairo, place.hip, 0.075 * h,
                     beside(place, upright - length * std::sin(back), -length * std::cos(back)), 0.045 * h, colour);
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

Point point_at(const FigurePlace& place, LimbPose pose) { return polar(place, pose); }

Colour trunk_colour(const Palette& colours, bool watched) {
    constexpr double faint = 0.3, step = 0.02, seen_well = 3;
    double share = faint;
    while (watched && share < 1 && contrast(blend(colours.ground, colours.figure, share), colours.ground) < seen_well)
        share += step;
    return blend(colours.ground, colours.figure, share);
}

void draw_closed_zone(cairo_t* cairo, const FigurePlace& place, const Palette& colours, bool strong) {
    constexpr double full_reach = 1.32;
    cairo_new_path(cairo);
    cairo_move_to(cairo, place.hip.x, place.hip.y);
    for (int angle = 90; angle <= 128; angle += 2) {
        const Point edge = polar(place, {static_cast<double>(angle), full_reach});
        cairo_line_to(cairo, edge.x, edge.y);
    }
    cairo_close_path(cairo);
    constexpr double wide = 0.06, faint = 0.3, seen = 0.8;
    if (strong)
        hatch_path(cairo, wide * place.height, 0.013 * place.height, blend(colours.ground, colours.clash, seen));
    else
        hatch_path(cairo, hatch_spacing * place.height, 0.008 * place.height,
                   blend(colours.ground, colours.clash, faint));
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
    const Colour behind =
        pose.quiet ? blend(colours.ground, colours.figure, 0.16) : trunk_colour(colours, pose.watched);
    // Hands close the line while the leg is down: then the arm has the colour, the leg stands in guard.
    const Phase of_limb = pose.phase == Phase::hands ? Phase::guard : pose.phase;
    const Colour limb = pose.quiet ? blend(colours.ground, colours.figure, 0.34) : colour_of(of_limb, colours);
    draw_standing_leg(cairo, place, pose.lean, behind);
    if (!pose.quiet && pose.trunk) draw_trunk(cairo, place, pose.lean, behind);
    if (pose.arm) draw_arm(cairo, place, *pose.arm, pose.quiet ? limb : colours.clash);
    draw_limb(cairo, place, pose.limb, limb);
    fill_disc(cairo, place.hip, 0.045 * h, colours.ground);
    if (pose.phase == Phase::gap) {
        const Point foot = foot_point(place, pose.limb);
        fill_box(cairo, foot.x - 0.22 * h, place.hip.y + h, 0.44 * h, 0.04 * h, limb);
    }
}

}  // namespace breakstep
