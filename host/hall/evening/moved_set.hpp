// A set that another athlete made than was called: its records stand once more, in a session of the one who made it.
// Score reads the journal and nothing else, so that they are worth there what they were worth here. Pure; any thread.
#pragma once

#include <span>
#include <vector>

#include "core/journal/events.hpp"

namespace breakstep {

/// The last stretch of a session, from its begin or its going on to where it stood aside or ended, without what only
/// concerns the session itself. Empty if no set began in it.
[[nodiscard]] std::span<const JournalRecord> last_stretch(std::span<const JournalRecord> journal);

/// The journal of `began`, from a stretch of another session.
[[nodiscard]] std::vector<JournalRecord> moved_session(const SessionBegan& began,
                                                       std::span<const JournalRecord> stretch);
/// Who takes part once the session is `to`'s: if that was the partner, athlete and partner change places. Empty where
/// nobody but the athlete did.
[[nodiscard]] std::vector<Participant> participants_after(const SessionBegan& before, AthleteId to, Side lead);
/// Which reps it moves.
[[nodiscard]] std::vector<RepId> reps_in(std::span<const JournalRecord> stretch);

}  // namespace breakstep
