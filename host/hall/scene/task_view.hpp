// The task before a set and the summary after a turn, as the stage shows them: from a session's drill and its score.
// Pure; any thread; cannot fail.
#pragma once

#include <optional>
#include <span>
#include <string>

#include "core/score/score.hpp"
#include "devices/stage/stage_view.hpp"

namespace breakstep {

/// What the drill of this session asks for, in its set (from 0). What most of its attacks ask is drawn; a second thing
/// that others ask is said.
[[nodiscard]] StageTask task_of(const SessionBegan& session, std::int32_t set);

/// Which foot the athlete has in front: the stance and the opponent's lead say it; where that changes, its own.
[[nodiscard]] Side front_foot(const Drill& drill, Side athlete_lead);

/// How the turn went, over all its sets, with advice from the last one. A child is shown no counts. Without who is
/// next.
[[nodiscard]] StageSummary summary_of(const Score& score, bool child);

/// How a turn went before: for "last time 5 of 10".
struct LastTime {
    int on_time = 0, of = 0;
    std::vector<Verdict> answers;
};
[[nodiscard]] LastTime last_time_of(std::span<const RepResult> reps);
/// Puts it beside the summary, with "more than last time", "fewer" or "about as": said only where the 95 % interval of
/// the difference leaves 0 out.
void add_last_time(StageSummary& summary, const LastTime& last);

/// How many more of n are x than of the other, as a share, with its 95 % interval (Newcombe 1998, the hybrid score
/// interval of two independent proportions, from memory).
struct Difference {
    double low = 0, high = 0;
};
[[nodiscard]] Difference difference_of_shares(int hits, int of, int hits_before, int of_before);

}  // namespace breakstep
