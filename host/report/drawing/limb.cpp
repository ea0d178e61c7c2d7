#include "report/drawing/limb.hpp"

#include <algorithm>
#include <cmath>

namespace breakstep {
namespace {

constexpr double quarter_turn = 90;
constexpr double guard_angle = 12;
constexpr LimbPose chambered{90, 0.66};
constexpr LimbPose planted{36, 1.236};
constexpr LimbPose full_reach{128, 1.32};
constexpr LimbPose carried{106, 0.86};
constexpr LimbPose sprung{104, 1.32};
constexpr double hip_height_reach = 1.236;
/// A carried leg comes to rest in this time however long it is held: its rise must not tell how long.
constexpr Duration carry_rise{150'000'000};

double radians(double degrees) { return degrees * 3.14159265358979323846 / 180; }
double sine(double degrees) { return std::sin(radians(degrees)); }
double cosine(double degrees) { return std::cos(radians(degrees)); }

/// 0 to 1, slow at both ends.
double eased(double p) { return (1 - cosine(180 * p)) / 2; }

double share(Duration part, Duration whole) {
    if (whole <= Duration{}) return 1;
    return std::clamp(static_cast<double>(part.count()) / static_cast<double>(whole.count()), 0.0, 1.0);
}

/// Between two poses, the foot never below the floor.
LimbPose between(LimbPose from, LimbPose to, double k) {
    LimbPose pose{from.angle + (to.angle - from.angle) * k, from.reach + (to.reach - from.reach) * k};
    if (pose.angle < quarter_turn) pose.reach = std::min(pose.reach, 1 / cosine(pose.angle));
    return pose;
}

LimbPose lift(LimbPose from, double p) {
    const double k = sine(90 * p);
    return {from.angle + (chambered.angle - from.angle) * k, from.reach + (chambered.reach - from.reach) * k};
}

Duration lift_pretended(const AttackTimeline& attack, Duration feint) {
    return attack.feint_lift > Duration{} ? attack.feint_lift : feint * 58 / 100;
}

/// How far along its lift a feint is: up exactly like the lift, then back the same way in what time is left.
double feint_progress(Duration since, Duration feint, Duration pretended) {
    const Duration turn = std::min(pretended * 6 / 10, feint * 3 / 4);
    const double top = share(turn, pretended);
    if (since < turn) return share(since, pretended);
    return top * (1 - share(since - turn, feint - turn));
}

LimbPose pull_back(double p) {
    const double k = 1 - cosine(90 * p);
    return {full_reach.angle - 38 * k, full_reach.reach - 0.084 * k};
}

struct Neighbours {
    const AttackPhase* before;
    const AttackPhase* after;
};

Neighbours neighbours(const AttackTimeline& attack, std::size_t index) {
    return {index > 0 ? &attack.phases[index - 1] : nullptr,
            index + 1 < attack.phases.size() ? &attack.phases[index + 1] : nullptr};
}

bool is(const AttackPhase* phase, Phase what) { return phase != nullptr && phase->phase == what; }

LimbPose up(const AttackPhase* before, double p) {
    if (is(before, Phase::pull_back)) return between(sprung, full_reach, eased(p));
    if (is(before, Phase::up) && before->held) return between(carried, full_reach, eased(p));
    return between(chambered, full_reach, eased(p));
}

LimbPose pose_in(const AttackTimeline& attack, std::size_t index, Duration since) {
    const AttackPhase& now = attack.phases[index];
    const auto [before, after] = neighbours(attack, index);
    const double p = share(since, now.length);
    switch (now.phase) {
        case Phase::guard:
            return guard_pose();
        case Phase::lift:
            if (attack.kind == AttackKind::feint)
                return lift(guard_pose(), feint_progress(since, now.length, lift_pretended(attack, now.length)));
            return lift(is(before, Phase::gap) ? planted : guard_pose(), p);
        case Phase::up:
            return now.held ? between(chambered, carried, eased(share(since, carry_rise))) : up(before, p);
        case Phase::up_or_pull_back:
            // When it turned back no gate saw: in the middle.
            return p < 0.5 ? between(chambered, full_reach, eased(2 * p)) : pull_back(2 * p - 1);
        case Phase::pull_back:
            return is(after, Phase::up) ? between(full_reach, sprung, eased(p)) : pull_back(p);
        case Phase::drop:
            return {quarter_turn - 54 * p, hip_height_reach};
        case Phase::gap:
            return planted;
        case Phase::hands:
            return between(is(before, Phase::gap) ? planted : guard_pose(), guard_pose(),
                           eased(share(since, back_to_guard)));
    }
    return guard_pose();
}

/// The poses that bound what was swept between two times: those in which the limb is further round than ever before.
std::vector<LimbPose> swept(const AttackTimeline& attack, Duration begin, Duration until) {
    constexpr Duration step{8'000'000};
    std::vector<LimbPose> bound{limb_at(attack, begin)};
    const bool rising = limb_at(attack, begin + 1ms).angle >= bound.front().angle;
    const auto add = [&](LimbPose pose) {
        const bool further = rising ? pose.angle > bound.back().angle : pose.angle < bound.back().angle;
        if (further) bound.push_back(pose);
    };
    for (Duration at = begin + step; at < until; at += step) add(limb_at(attack, at));
    add(limb_at(attack, until));
    return bound;
}

}  // namespace

LimbPose guard_pose() { return {guard_angle, 1 / cosine(guard_angle)}; }

LimbPose limb_at(const AttackTimeline& attack, Duration since_toe_off) {
    if (attack.phases.empty() || since_toe_off < Duration{}) return guard_pose();
    if (const auto index = attack.index_at(since_toe_off))
        return pose_in(attack, *index, since_toe_off - attack.begin_of(*index));
    const LimbPose last = pose_in(attack, attack.phases.size() - 1, attack.phases.back().length);
    return between(last, guard_pose(), eased(share(since_toe_off - attack.end(), back_to_guard)));
}

std::optional<double> arm_at(const AttackTimeline& attack, Duration since_toe_off) {
    const auto index = attack.index_at(since_toe_off);
    if (!index || attack.phases[*index].phase != Phase::hands) return std::nullopt;
    const double p = share(since_toe_off - attack.begin_of(*index), attack.phases[*index].length);
    return 0.3 + 0.62 * (1 - cosine(720 * p)) / 2;  // two of them: out, in, out, in
}

std::vector<LimbPose> trail_at(const AttackTimeline& attack, Duration since_toe_off) {
    const auto index = attack.index_at(since_toe_off);
    if (!index) return {};
    const Phase phase = attack.phases[*index].phase;
    if (phase == Phase::guard || phase == Phase::gap || phase == Phase::hands) return {};
    // Above the line all phases leave one trail: were each to begin anew, a rebound would make it flash.
    std::size_t first = *index;
    while (first > 0 && is_closed(phase) && is_closed(attack.phases[first - 1].phase)) --first;
    const Duration begin = attack.begin_of(first);
    Duration until = since_toe_off;
    if (attack.kind == AttackKind::feint) {
        const Duration length = attack.phases[*index].length;
        until = std::min({until, lift_pretended(attack, length) * 6 / 10, length * 3 / 4});
    }
    return swept(attack, begin, until);
}

double eased_share(Duration part, Duration whole) { return eased(share(part, whole)); }

double foot_height(LimbPose pose) { return 1 - pose.reach * cosine(pose.angle); }

double highest_foot() { return foot_height(full_reach); }

}  // namespace breakstep
