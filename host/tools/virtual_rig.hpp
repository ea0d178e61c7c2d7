// A simulated rig in virtual time whose sessions are kept nowhere: bytes, link, conduct and score, one session after
// another, for measuring what comes of somebody who is known.
//
// One owner, one thread.
#pragma once

#include <cstdint>

#include "hall/drivers/fast_driver.hpp"
#include "store/memory_journal.hpp"

namespace breakstep {

struct VirtualRig {
    VirtualRig(const SimulatedTargetSettings& settings, std::uint64_t seed);

    /// The next session of this drill, of one athlete, numbered on.
    [[nodiscard]] SessionBegan next(const Drill& drill, std::uint64_t seed);
    [[nodiscard]] static SceneNames names_of(const SessionBegan& session);

    SimulatedTarget target;
    VirtualCues cues;
    MemoryJournal journal;
    FastDriver driver;

  private:
    std::uint64_t sessions_ = 0;
};

}  // namespace breakstep
