// How the limb moves. The figures are the rules of our own figure (angles from straight down, reach in hip heights).
#include "report/drawing/limb.hpp"

#include <doctest/doctest.h>

#include <cmath>

#include "unit/stage/pixels.hpp"

using namespace breakstep;
using doctest::Approx;
using pixels::feint;
using pixels::single;

namespace {

void check_pose(LimbPose pose, double angle, double reach) {
    CHECK(pose.angle == Approx(angle).epsilon(1e-6));
    CHECK(pose.reach == Approx(reach).epsilon(1e-6));
}

AttackTimeline of(AttackKind kind, std::vector<AttackPhase> phases) { return {kind, std::move(phases), {}}; }

const AttackTimeline rebound = of(AttackKind::rebound, {{Phase::lift, false, 140ms},
                                                        {Phase::up, false, 220ms},
                                                        {Phase::pull_back, false, 100ms},
                                                        {Phase::up, false, 200ms},
                                                        {Phase::pull_back, false, 180ms},
                                                        {Phase::drop, false, 160ms},
                                                        {Phase::gap, false, 250ms}});
const AttackTimeline carry = of(AttackKind::carry, {{Phase::lift, false, 140ms},
                                                    {Phase::up, true, 500ms},
                                                    {Phase::up, false, 220ms},
                                                    {Phase::pull_back, false, 180ms},
                                                    {Phase::drop, false, 160ms},
                                                    {Phase::gap, false, 250ms}});
const AttackTimeline reset = of(AttackKind::reset, {{Phase::lift, false, 140ms},
                                                    {Phase::up, false, 220ms},
                                                    {Phase::pull_back, false, 180ms},
                                                    {Phase::drop, false, 160ms},
                                                    {Phase::gap, false, 250ms},
                                                    {Phase::lift, false, 140ms},
                                                    {Phase::up, false, 220ms},
                                                    {Phase::pull_back, false, 180ms},
                                                    {Phase::drop, false, 160ms},
                                                    {Phase::gap, false, 250ms}});
const AttackTimeline hands = of(AttackKind::leg_to_hands, {{Phase::lift, false, 140ms},
                                                           {Phase::up, false, 220ms},
                                                           {Phase::pull_back, false, 180ms},
                                                           {Phase::drop, false, 160ms},
                                                           {Phase::gap, false, 250ms},
                                                           {Phase::hands, false, 400ms}});

}  // namespace

TEST_CASE("phases begin where the rules say, a border belongs to the later phase, and nothing is current outside") {
    const AttackTimeline attack = single();
    CHECK(attack.end() == 950ms);
    CHECK(attack.begin_of(3) == 540ms);
    CHECK_FALSE(attack.index_at(-1ns));
    CHECK(attack.index_at(0ns) == 0);
    CHECK(attack.index_at(140ms - 1ns) == 0);
    CHECK(attack.index_at(140ms) == 1);
    CHECK_FALSE(attack.index_at(950ms));
    CHECK_FALSE(AttackTimeline{}.index_at(0ns));
}

TEST_CASE("a single kick goes through its poses") {
    const AttackTimeline attack = single();
    check_pose(limb_at(attack, -10ms), 12, 1 / std::cos(12 * 3.14159265358979 / 180));
    check_pose(limb_at(attack, 0ms), 12, 1.0223406);
    check_pose(limb_at(attack, 140ms), 90, 0.66);   // chambered, at the hip line
    check_pose(limb_at(attack, 250ms), 109, 0.99);  // half-way up: k = .5
    check_pose(limb_at(attack, 360ms), 128, 1.32);  // full reach
    check_pose(limb_at(attack, 540ms), 90, 1.236);  // through the hip line again
    check_pose(limb_at(attack, 620ms), 63, 1.236);  // half-way down, at an even rate
    check_pose(limb_at(attack, 700ms), 36, 1.236);  // planted
    check_pose(limb_at(attack, 900ms), 36, 1.236);
}

TEST_CASE("the first frame of a lift moves the limb by 11 to 18 degrees at every level") {
    for (const Level level : {Level::beginner, Level::intermediate, Level::advanced}) {
        AttackTimeline attack = single();
        attack.phases[0].length = opponent_defaults(level).lift.mean;
        const double moved = limb_at(attack, 16'666'667ns).angle - guard_pose().angle;
        CAPTURE(word(level));
        CHECK(std::lround(moved) >= 11);
        CHECK(std::lround(moved) <= 18);
    }
}

TEST_CASE("the leg is above the hip line while the phase is closed and below it while it is open") {
    for (const AttackTimeline& attack : {single(), rebound, carry, reset, hands}) {
        for (Duration at = 0ms; at < attack.end(); at += 1ms) {
            const Phase phase = attack.phases[*attack.index_at(at)].phase;
            const double angle = limb_at(attack, at).angle;
            if (phase == Phase::up || phase == Phase::pull_back)
                REQUIRE(angle >= 90 - 1e-9);
            else
                REQUIRE(angle <= 90 + 1e-9);
        }
    }
}

TEST_CASE("the limb never jumps, except that a foot lands without easing and a chambered leg is already in reach") {
    for (const AttackTimeline& attack : {single(), rebound, carry, reset, hands, feint(240ms, 140ms)}) {
        LimbPose before = limb_at(attack, -1ms);
        for (Duration at = 0ms; at < attack.end() + 400ms; at += 1ms) {
            const LimbPose now = limb_at(attack, at);
            REQUIRE(std::abs(now.angle - before.angle) < 1.5);  // 1 ms at 1500 degrees a second
            REQUIRE(std::abs(now.reach - before.reach) < 0.03);
            REQUIRE(foot_height(now) > -0.001);  // never under the floor
            before = now;
        }
        check_pose(limb_at(attack, attack.end() + 250ms), 12, 1.0223406);
    }
}

TEST_CASE("a feint is its lift to the last digit before it turns, and goes back the way it came") {
    for (const Duration length : {150ms, 240ms, 300ms}) {
        const Duration lift = 140ms;
        AttackTimeline real = single();
        real.phases[0].length = lift;
        const AttackTimeline fake = feint(length, lift);
        for (Duration at = 0ms; at <= lift * 6 / 10; at += 1ms) {
            REQUIRE(limb_at(fake, at).angle == limb_at(real, at).angle);
            REQUIRE(limb_at(fake, at).reach == limb_at(real, at).reach);
        }
        double highest = 0;
        for (Duration at = 0ms; at < length; at += 1ms) highest = std::max(highest, limb_at(fake, at).angle);
        CHECK(highest < 90);
        CHECK(highest == Approx(limb_at(real, lift * 6 / 10).angle).epsilon(1e-3));
        check_pose(limb_at(fake, length), 12, 1.0223406);
    }
}

TEST_CASE("a feint whose pretended lift is not given takes one from its own length") {
    AttackTimeline real = single();
    real.phases[0].length = 116ms;  // 58 % of 200 ms
    const AttackTimeline fake = feint(200ms, {});
    CHECK(limb_at(fake, 50ms).angle == Approx(limb_at(real, 50ms).angle));
}

TEST_CASE("a carried leg rests at 106 degrees, and its rise does not tell how long it is held") {
    check_pose(limb_at(carry, 140ms + 400ms), 106, 0.86);
    check_pose(limb_at(carry, 640ms), 106, 0.86);
    check_pose(limb_at(carry, 860ms), 128, 1.32);
    AttackTimeline longer = carry;
    longer.phases[1].length = 1000ms;
    for (Duration at = 0ms; at < 640ms; at += 5ms) REQUIRE(limb_at(longer, at).angle == limb_at(carry, at).angle);
}

TEST_CASE("a rebound stops at 104 degrees at full reach and goes up again") {
    check_pose(limb_at(rebound, 460ms), 104, 1.32);
    check_pose(limb_at(rebound, 660ms), 128, 1.32);
    check_pose(limb_at(rebound, 840ms), 90, 1.236);
}

TEST_CASE("the second kick of a reset starts from the planted foot") {
    check_pose(limb_at(reset, 950ms), 36, 1.236);
    check_pose(limb_at(reset, 1090ms), 90, 0.66);
}

TEST_CASE("hands go out and in twice between .3 and .92 hip heights, and the leg goes back to guard meanwhile") {
    CHECK_FALSE(arm_at(hands, 900ms));
    CHECK(arm_at(hands, 950ms) == Approx(0.3));
    CHECK(arm_at(hands, 1050ms) == Approx(0.92));
    CHECK(arm_at(hands, 1150ms) == Approx(0.3));
    CHECK(arm_at(hands, 1250ms) == Approx(0.92));
    CHECK_FALSE(arm_at(hands, 1350ms));
    check_pose(limb_at(hands, 950ms), 36, 1.236);
    check_pose(limb_at(hands, 1200ms), 12, 1.0223406);
}

TEST_CASE("the trail runs from the begin of the phase to now, and guard, gap and hands leave none") {
    const auto trail = trail_at(single(), 620ms);
    REQUIRE(trail.size() > 2);
    check_pose(trail.front(), 90, 1.236);
    check_pose(trail.back(), 63, 1.236);
    CHECK(trail_at(single(), 800ms).empty());
    CHECK(trail_at(hands, 1000ms).empty());
    CHECK(trail_at(single(), 2000ms).empty());
    const auto feint_trail = trail_at(feint(240ms, 140ms), 230ms);  // nearly back: the trail stays as far as it went
    CHECK(feint_trail.back().angle == Approx(limb_at(single(), 84ms).angle));
}

TEST_CASE("the foot is highest at full reach") {
    CHECK(highest_foot() == Approx(1 + 1.32 * std::cos(52 * 3.14159265358979 / 180)));
    CHECK(foot_height({36, 1.236}) == Approx(0).epsilon(0.001).scale(1));
}
