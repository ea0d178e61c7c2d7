// Hunted: an opponent that times the athlete. Half of the entries are hunted, half are controls that show how often
// chance alone catches. Two forms:
//
// - secret: the rig only commits, before each interval, to a window; caught is who enters in it. A control commits to a
//   window around a wait of r + Exp(pace - r), at most 4 s. Nothing is cut, every interval is bet on.
// - attacking: the rig really attacks at the centre of the announced window, and the interval is cut there. For centres
//   the cut interval is imputed from intervals beyond the window's end: TempoTest::cut(cue, beyond).
//
// Simulated: unpredictable athletes are caught at chance (18 % against 19 %), a metronome of CV 5 % always, of CV 10 %
// in 87 %; one that turns random halfway is down to 20 % within ten entries. Pure: the caller draws; any thread; cannot
// fail.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "core/random.hpp"
#include "core/reading/tempo_test.hpp"
#include "core/reading/timeable_index.hpp"

namespace breakstep::reading {

/// What the rig commits to in secret before an interval.
struct SecretMove {
    bool hunted;  ///< false: a control
    Window window;
};

/// A coin of 1/2 decides; before a window can be announced every move is a control. `pace_seconds` as
/// TempoTest::pace_seconds gives it.
[[nodiscard]] SecretMove secret_move(const Forecast& forecast, double pace_seconds, Duration shortest, Random& random);

/// The attack on an announced window.
struct AttackingMove {
    Duration cue;     ///< when it comes, after the entry: the window's centre
    Duration beyond;  ///< hand both to TempoTest::cut if the athlete has not entered by then
};
/// nullopt while no window can be announced.
[[nodiscard]] std::optional<AttackingMove> attacking_move(const Forecast& forecast);

struct HuntCount {
    std::uint64_t hunted = 0;
    std::uint64_t hunted_caught = 0;
    std::uint64_t controls = 0;
    std::uint64_t controls_caught = 0;

    void add(const SecretMove& move, Duration entered);
    [[nodiscard]] Interval95 hunted_interval() const { return wilson(hunted_caught, hunted); }
    [[nodiscard]] Interval95 control_interval() const { return wilson(controls_caught, controls); }
    /// "hunted: caught 9 of 10; by chance 2 of 10".
    [[nodiscard]] std::string words() const;
};

}  // namespace breakstep::reading
