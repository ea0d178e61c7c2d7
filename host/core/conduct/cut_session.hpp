// A session whose program was cut off, made one that stands aside: what its journal still needs so that another process
// can go on with it. A set that was under way keeps its closed reps; what was open is void, and the rest is drawn
// again.
//
// Pure; any thread; can't fail: an empty answer is a session that ended, or that stands aside already.
#pragma once

#include <vector>

#include "core/journal/events.hpp"

namespace breakstep {

/// The events to be appended to the session's journal, in order; the last is SessionSuspended.
[[nodiscard]] std::vector<JournalEvent> to_stand_aside(const std::vector<JournalRecord>& journal);

}  // namespace breakstep
