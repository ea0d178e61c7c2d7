// A rig that goes away in the middle of a set and comes back: its cable pulled and plugged in again, its board reset,
// or both (a cable that also feeds the board). How soon cues come again, by the lamps' true cycles, and whether what a
// board that lived on saw meanwhile was told.
#pragma once

#include "truth/bench.hpp"

namespace breakstep::tests {

struct ReturnReport {
    std::vector<double> bound_ms;  ///< from the rig's return until the clock's bound is under 0.5 ms
    std::vector<double> cue_ms;    ///< ... until the first lamp lights, the drill's own wait included
    int never = 0;                 ///< returns after which no lamp had lit within 20 s
    StampErrors stamps;            ///< of the pulled cable: the board lived on
    void add(const ReturnReport& other);
};

/// `times` of each of the three.
ReturnReport run_returning(const LockStepSettings& settings, int times);

}  // namespace breakstep::tests
