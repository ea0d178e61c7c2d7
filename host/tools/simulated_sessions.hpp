// Sessions of simulated athletes on the simulated rig, one after another in virtual time, kept nowhere: the whole chain
// of bytes, link, conduct and score, for measuring what comes of a known athlete in a drill.
//
// One owner, one thread. Fails as the fast driver does.
#pragma once

#include <memory>

#include "core/score/score.hpp"
#include "devices/simulated/athlete_profile.hpp"
#include "tools/virtual_rig.hpp"

namespace breakstep {

struct PlayedSession {
    std::vector<RepResult> reps;
    SessionTotals totals;
};

class SimulatedSessions {
  public:
    explicit SimulatedSessions(std::uint64_t seed);

    /// One session; the same seed gives the same one. `returning`: not the athlete's first of this drill, so that its
    /// first set is silent and counts.
    [[nodiscard]] Expected<PlayedSession> play(const Drill& drill, const AthleteProfile& athlete, std::uint64_t seed,
                                               bool returning);

  private:
    VirtualRig rig_;
};

}  // namespace breakstep
