// `demo --partner`: invented pairs of athlete and partner on the simulated rig, in virtual time, held against what the
// partners' legs truly did. Main thread.
#pragma once

#include "cli/commands.hpp"

namespace breakstep {

struct PartnerDemo {
    std::int32_t contacts = 2000;  ///< so many at least, further from a border than its uncertainty
    std::int32_t bouts = 0;        ///< instead, so many of each kind in which one may make the other go
};

/// Prints every rep, asked and come, with the truth beside it (as JSON one object, the last line), and the figures;
/// gives the exit code: failed if rescoring gave other results or too little was right.
[[nodiscard]] int run_demo_partner(const CommonOptions& options, const PartnerDemo& demo);

}  // namespace breakstep
