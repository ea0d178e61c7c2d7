// What an athlete is told after a set: one thing to change, and the counts that say so. A code and figures; the words
// are made outside core. In the order of what costs an athlete most (common practice of the trade, no source).
//
// Only what is measured is said, and only what helps whoever does it: a simulated athlete who follows each advice is
// compared with the same one who does not (tests/scenarios/advice), and what does not help is not here. So nobody is
// told to wait for the hip line and then go (that lands on time hardly ever), and a clash on a rebound is not advised
// upon: where the leg may spring out again, no way to start helps.
//
// Pure values; any thread; cannot fail.
#pragma once

#include <cstdint>
#include <optional>
#include <span>

#include "core/score/score.hpp"

namespace breakstep {

enum class AdviceKind : std::uint8_t {
    none,          ///< nothing to say: no rep that counts
    stay_outside,  ///< got hit: inside the near mark while the leg was up (stepping out once it lifts comes too late)
    arrive_in_the_drop,  ///< clashes where the drop was asked
    before_the_hands,    ///< clashes with the hands that follow
    take_the_drop,       ///< a lift without warning, met too late
    as_it_lifts,         ///< a lift that the athlete draws or whose wait is always the same, met too late
    start_once_up,       ///< feints taken
    until_it_moves,      ///< struck before anything came
    as_the_foot_lands,   ///< early for the gap
    start_sooner,        ///< late for the drop
    before_it_goes_on,   ///< late for the gap
    stay_in_reach,       ///< beyond the far mark at touchdown
    step_in,             ///< a hand from outside the near mark
    choose_the_pad,
    answer_each,        ///< attacks without an answer
    out_at_once,        ///< the way out was asked for, and came too late
    strike_again,       ///< the second strike that was asked for did not come, or on another pad
    off_the_line,       ///< on the attack line at contact, where it was to be left
    home_first,         ///< beyond the far mark as it lifts: too far to answer
    keep_room,          ///< over the back mark: no room behind
    shorter_back,       ///< ground given deeper than the far mark between draw and answer
    make_it_come,       ///< a drawn drill's attacks came by themselves: nothing drew them
    lead_from_outside,  ///< inside the near mark as the partner came to the end of their room
    press_back,         ///< the partner attacked from the midst of their room: nobody had led them to its end
    change_pace,        ///< on time, and the rhythm can be timed
    same_again,         ///< on time
    keep_at_it,         ///< nothing stands out
};

/// What to change, and from what.
struct SetAdvice {
    AdviceKind kind = AdviceKind::none;
    int count = 0;   ///< reps that say so: clashes, hits, feints taken ...; on time for the last three
    int of = 0;      ///< of so many: scored reps for the last three, else the set's attacks
    int rising = 0;  ///< arrive_in_the_drop: clashes while the leg went up
    /// arrive_in_the_drop: how long before the hip line the clashes came, least and most; null if the leg never came
    /// down afterwards.
    std::optional<Duration> least_before_line, most_before_line;
    bool room = false;  ///< room alone was asked for: counted is what was out in time and home in time
    int best_run = 0;   ///< longest run of good answers: on time, around, held
    bool operator==(const SetAdvice&) const = default;
};

/// `reps` are one set's, in order; `sign` is whether the athlete's rhythm gives them away so far.
/// `start`: the drill's: where the athlete is to draw the attack, one that comes by itself says that nothing did.
[[nodiscard]] SetAdvice advice_of(std::span<const RepResult> reps, Sign sign, StartKind start = StartKind::random);

}  // namespace breakstep
