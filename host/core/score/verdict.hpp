// What a rep was worth: the verdicts of the trade in their order, decided by the first contact.
//
// Pure; any thread; can't fail. Interpretations of ours, where the trade's words leave room:
// - "Before the first window" means before the lift's window, from `lead` before toe-off, whatever moment is asked:
// that
//   is when the attack can first be seen coming. A strike in the lead lies in the lift window, but its true phase is
//   guard.
// - A spin that meets the leg while it is held up is around, on any pad: the held leg is what it had to get past. Its
//   latency and error run by the held up, the window it was right in; against the asked window a good answer would
//   look like a large error.
// - With two asked windows (a reset) latency runs from the one that holds the contact, else from the last one begun
//   before it, else from the first.
// - On a feint and on a catch trial any contact of the stretch counts, not the first alone: a strike long before does
//   not excuse one that went for the feint.
// - "No step" needs the athlete out of reach: one already inside at toe-off has no step to take.
#pragma once

#include <span>

#include "core/score/attack.hpp"
#include "core/score/rig_log.hpp"
#include "core/score/score.hpp"

namespace breakstep::scoring {

/// What a rep is judged by, beside its attack.
struct Evidence {
    std::span<const Contact> contacts;        ///< of the rep, merged, in order
    const Stretch& stretch;                   ///< what the gates told
    GateSet gates = 0;                        ///< the gates that the rig has
    std::span<const Uncertainty> pad_bounds;  ///< by PadRole; unknown where the rig named none
    Duration waited_from{};                   ///< a catch trial's onset: where its wait began
};

/// Fills in verdict, scored, phase, pad, times and flags of a rep that is not void. `result` says what was asked.
void judge(const Attack& attack, const Evidence& evidence, RepResult& result);

}  // namespace breakstep::scoring
