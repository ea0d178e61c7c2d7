// With a partner on the real firmware: the box's switch at partner, a leg with spread, disobedience, bounces and second
// lifts before its low and hip gate, hands that a coach taps in late, an athlete who strikes anywhere. What the host
// made of it is held against what leg and blow truly did.
//
// The board has no gate for hands and no lamp for a partner: a display of their own tells what to do. Single thread
// each.
#pragma once

#include "tools/partner_audit.hpp"
#include "truth/bench.hpp"

namespace breakstep::tests {

struct PartnerReport {
    PartnerFigures figures;
    StampErrors stamps;
    std::uint64_t sessions = 0, damaged = 0, resets = 0;
    double seconds = 0;  ///< of simulated time
    void add(const PartnerReport& other);
};

/// Sessions of twenty reps until so many contacts lie further from a border than their uncertainty, or enough sessions
/// for twice as many have been.
PartnerReport run_partner(const LockStepSettings& settings, std::uint64_t contacts);

}  // namespace breakstep::tests
