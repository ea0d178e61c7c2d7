// One session of the swarm, played by the real engine and the fast driver: trouble first, then everything is mended and
// the session has to come to its end. A killed one is followed by a second program that meets the same rig.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "hall/drivers/fast_driver.hpp"
#include "simulation/swarm_journal.hpp"
#include "simulation/swarm_plan.hpp"

namespace breakstep::swarm {

/// A program from its start to its end; within it events outside sessions are nobody's.
struct ProgramRun {
    HostTime began;
    std::map<std::pair<BootId, std::uint16_t>, HostTime> outside;  ///< rig events that came outside a session
    std::map<BootId, HostTime> met;                                ///< when it first understood a boot
};

struct Played {
    Plan plan;
    SwarmJournal journal{Duration{}};
    std::vector<ProgramRun> programs;
    std::vector<RigTruth> truths;
    std::vector<RigReleased> released;
    bool killed = false;
    std::optional<SessionEnd> end;     ///< of the last session
    std::vector<RepResult> live_reps;  ///< of the last session, as the engine knew them
    std::vector<IntervalRead> live_intervals;
    SessionTotals live_totals;
    std::vector<std::string> refusals;
    std::string fault;  ///< it spun, or did not end; "" for none
    Duration mended_until_end{};
};

[[nodiscard]] Played play(const Plan& plan);

}  // namespace breakstep::swarm
