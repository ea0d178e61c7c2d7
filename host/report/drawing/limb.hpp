// How the opponent's limb moves: the angle and the reach of the one bar that turns about the hip, and the length of the
// arm, as pure functions of the attack and the time since toe-off.
//
// Pure, any thread, never fails. Angles are in degrees from straight down, positive towards the athlete (90: level, at
// the hip line). Reach is the foot's distance from the hip, in hip heights. The formulas and constants are our own
// (a figure of our own, no measured leg): what matters is that below the hip line a leg can hardly turn back, and above
// it may spring out again.
#pragma once

#include <optional>
#include <vector>

#include "core/time.hpp"
#include "report/drawing/attack_timeline.hpp"

namespace breakstep {

struct LimbPose {
    double angle = 0;
    double reach = 1;
};

[[nodiscard]] LimbPose guard_pose();

/// The pose at that moment; guard before toe-off, back to guard in the 250 ms after the end.
[[nodiscard]] LimbPose limb_at(const AttackTimeline& attack, Duration since_toe_off);

/// How long the arm is, in hip heights (.3 to .92), while the phase is hands; else nothing.
[[nodiscard]] std::optional<double> arm_at(const AttackTimeline& attack, Duration since_toe_off);

/// The edge of the area the limb has swept, for the trail: since the phase began; above the hip line since the leg went
/// above it, so that a rebound does not make it flash. Empty where the limb leaves none (guard, gap, hands).
[[nodiscard]] std::vector<LimbPose> trail_at(const AttackTimeline& attack, Duration since_toe_off);

/// 0 to 1 while `part` grows to `whole`, slow at both ends.
[[nodiscard]] double eased_share(Duration part, Duration whole);

/// The foot's height above the floor, in hip heights.
[[nodiscard]] double foot_height(LimbPose pose);

/// The height at full reach, the highest there is: 1.81.
[[nodiscard]] double highest_foot();

inline constexpr Duration back_to_guard{250'000'000};

}  // namespace breakstep
