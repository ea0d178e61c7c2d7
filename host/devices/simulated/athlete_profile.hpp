// Who a simulated athlete is: grade, speed, timing, faults and habits; and a ready-made club of them.
//
// Values; any thread. The figures are our own and loosely anchored: visual reaction about 215 ms in adults (Woods 2015:
// 213 ms with the hardware's share taken out) and longer in children (Dev Med Child Neurol 1984), the ex-Gaussian shape
// (200/20/50, from memory), a counter's movement of 200 to 300 ms. Where no source is named, common practice.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

#include "core/advice/advice.hpp"
#include "core/random.hpp"
#include "core/time.hpp"
#include "core/trade/opponent.hpp"
#include "core/trade/vocabulary.hpp"

namespace breakstep {

/// Ex-Gaussian: normal of mean `mu` and `sigma`, plus an exponential of mean `tau`; in ms.
struct ReactionTime {
    double mu = 175, sigma = 20, tau = 40;
    [[nodiscard]] double mean() const { return mu + tau; }
    [[nodiscard]] double draw(Random& random) const { return mu + sigma * random.normal() + random.exponential(tau); }
};

/// How the athlete steps in and out while nothing comes: intervals from one entry to the next.
enum class HabitKind : std::uint8_t { metronome, long_short, memoryless };
struct Habit {
    HabitKind kind = HabitKind::memoryless;
    Duration beat = 1000ms;     ///< metronome, long-short: mean interval; memoryless: mean of the exponential part
    double spread = 0.10;       ///< metronome, long-short: CV of each interval
    Duration shortest = 680ms;  ///< no interval is shorter: in and out again takes that long; memoryless: the shift
    double roams = 0.08;        ///< share of the times in which it steps back and forth behind instead
};

struct AthleteProfile {
    std::string_view call_sign;
    Level grade = Level::intermediate;
    Side lead = Side::right;
    double age = 20;  ///< years; under 15 reactions are slower
    ReactionTime reaction;
    double choice_cost_ms = 40;              ///< for each bit of uncertainty about which attack comes
    double speed = 1;                        ///< factor on every movement time
    double timing_ms = 20;                   ///< SD of aiming at a moment ...
    double timing_share = 0.05;              ///< ... and this share of the time it looks ahead
    double aim = 0.5;                        ///< where in the moment it aims, 0 begin .. 1 end
    double impulsive = 0.11;                 ///< goes at the first lamp, whatever comes
    double picks = 0.65;                     ///< else: waits until the leg is seen to come up before it goes
    double stops = 0.25;                     ///< can stop an attack on a feint after the step in
    double chases = 0.4;                     ///< goes although it is too late
    double lapses = 0.03;                    ///< does not answer at all
    double misses = 0.02;                    ///< answers, and meets no pad
    double wrong_pad = 0.06;                 ///< strikes where it was not told to
    std::array<double, 4> pads{1, 1, 1, 1};  ///< liking for each PadRole
    std::array<double, 4> ground{0.88, 0.09, 0.02, 0.01};  ///< how often it gives ground 0 .. 3 times before an answer
    double guesses = 0.02;                                 ///< per wait: strikes before anything has come
    double times_lifts =
        0.5;  ///< asked for the lift: strikes into the attack it has drawn, once it has seen that it does
    double reads_leans = 0.6;  ///< goes at the lean of an opponent that gives itself away, where the lift is asked
    double stays_in = 0.65;    ///< caught inside by an attack: strikes from there
    double overruns = 0.2;     ///< after a strike withdraws beyond the far mark
    double fatigue = 0.01;     ///< per rep of a set: slower, less steady, more lapses
    double crowds = 0;         ///< of the waits, spent in reach of the kick
    double stays_after = 0;    ///< of the strikes, after which it stays in reach for a second and more
    double follows_up = 0.85;  ///< asked for a second strike: gives it
    double steps_off = 0.75;   ///< asked to leave the attack line: does
    bool sets_beats = true;    ///< asked to set a beat: does; else it steps in by habit
    double breaks_beat = 0.8;  ///< once the beat is followed: breaks it; else steps in on it once more
    double waits_far = 0;      ///< of the waits, spent beyond the far mark
    double waits_behind = 0;   ///< and behind the back mark
    double goes_deep = 0;      ///< of the steps back that draw, so many lead over the back mark
    double passive = 0;        ///< of the steps that could draw an attack, so many are not done
    Habit habit;
    /// Does what this advice says, and is otherwise as ever: to see whether the advice helps.
    AdviceKind follows = AdviceKind::none;
    /// Does what must never be advised: waits until the leg is seen to fall below the hip, then goes.
    bool waits_for_the_line = false;
};

/// A plain athlete of a grade: neither fault nor strength of its own, memoryless steps.
[[nodiscard]] AthleteProfile typical_athlete(Level grade);

/// Part of the way from `athlete` to `towards`, 0 .. 1, in what practice moves: aim and steadiness, choosing, holding
/// back, stopping, meeting the pad that was asked, place after the strike. Reactions, speed, age, habits and likings
/// stay: simple reactions hardly improve with practice (common practice; the gain over a term is in steadiness).
[[nodiscard]] AthleteProfile practised(const AthleteProfile& athlete, const AthleteProfile& towards, double share);

/// The club Saltmarsh Hall. Invented; birds' names. Heron steps in like a metronome, Curlew like nobody.
[[nodiscard]] const std::vector<AthleteProfile>& demo_club();
/// By call-sign, upper or lower case; nullopt: no such athlete.
[[nodiscard]] std::optional<AthleteProfile> find_athlete(std::string_view call_sign);

/// Factor on reaction times at an age: 1 from 15 years on, (15/age)^0.8147 below (fit through the published 465 ms at 5
/// and 190 ms at 15 years).
[[nodiscard]] double age_factor(double age);

}  // namespace breakstep
