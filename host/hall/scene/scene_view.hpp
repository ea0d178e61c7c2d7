// From what conduct and score know to what the stage draws: rig times become host times, reps become strips.
// Pure; called on the engine's thread.
#pragma once

#include <string>

#include "core/conduct/conduct.hpp"
#include "core/score/score.hpp"
#include "devices/stage/stage_view.hpp"
#include "hall/scene/task_view.hpp"
#include "link/link.hpp"

namespace breakstep {

/// What the scene itself does not know: names, and who comes next.
struct SceneNames {
    std::string club, athlete, drill_title;
    std::string next, then;  ///< call-signs at the rig after this athlete's last set; "" for none
    std::uint64_t seed = 0;
    LengthRange lift;  ///< of the opponent: what a feint pretends
    double spread = 0.1;
    bool child = false;        ///< under 15: the stage shows what to do and the best run, no counts
    bool nudged = true;        ///< false under 12: no habit is told while the drill runs
    bool watch_first = false;  ///< the athlete's first set of this drill: its attack is watched once, slowly
    std::string caution{};     ///< before the first set; "" for none
    LastTime last_time{};      ///< of this drill, if there was one
    std::string partner{};     ///< who kicks; "" where nobody does, or nobody is named
    bool kept = true;          ///< false: for this evening only, so nothing is said to be saved
};

/// `session` says what is asked before each set; null: only the prompt stands then.
[[nodiscard]] StageView stage_view(const Scene& scene, const SceneNames& names, const Score& score, const Link& link,
                                   HostTime now, bool saved, const SessionBegan* session = nullptr);

/// "If it hurts or you feel dizzy, stop and say so." The caution before a first set.
[[nodiscard]] const char* caution_before_the_first_set();

/// When the screen's opponent leans, as somebody in front of it sees it: in the frame of a sixtieth of a second that
/// comes next. For simulated athletes.
[[nodiscard]] std::vector<HostTime> leans_on_screen(const StageView& view);

/// Where one turn follows another by itself (a demo), the summary stands a while before the next task.
class StandingSummary {
  public:
    explicit StandingSummary(Duration stands) : stands_(stands) {}
    /// Puts the summary that still stands in the view's place.
    void show(StageView& view, HostTime now);
    /// The task that waited, once its time has come.
    [[nodiscard]] std::optional<StageView> due(HostTime now);

  private:
    Duration stands_;
    HostTime since_{};
    std::optional<StageView> summary_, waiting_;
};

/// A habit as the stage tells it.
[[nodiscard]] StageNudge nudge_of(const SignRaised& sign, HostTime since);

/// A free exchange, or the coin drill: who makes whom go stands in the advice's place, what makes the partner kick
/// below. A child is told no counts. Does nothing in other drills.
void tell_exchange(StageRest& rest, const Score& score, const std::string& athlete, const std::string& partner,
                   bool child);

/// What is said and shown of a set once it is over; without names of who comes next, and without a countdown.
[[nodiscard]] StageRest rest_of_set(const Score& score, std::int32_t set, std::int32_t sets, bool child);

}  // namespace breakstep
