// What a seed of the swarm draws: a drill, a rig and its line, and everything that goes wrong or is asked for, each at
// its time. Values; the same seed gives the same plan.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "core/journal/events.hpp"
#include "core/trade/drill.hpp"
#include "devices/simulated/simulated_target.hpp"

namespace breakstep::swarm {

struct CoachDeed {
    CoachInput input;
};
struct VoidDeed {
    RepId rep{};
};
struct StrikeDeed {
    PadRole pad{};
    double strength = 0.5;
};
struct PassDeed {
    GateRole gate{};
};
struct DiskDeed {
    bool fails = false;
};
struct LampDeed {
    LampAilment ailment;
};
using Deed = std::variant<CoachDeed, VoidDeed, StrikeDeed, PassDeed, DiskDeed, LampDeed>;

struct TimedDeed {
    Duration after{};  ///< the session's begin
    Deed deed;
};

struct Plan {
    std::uint64_t seed = 0;
    Drill drill;
    SimulatedTargetSettings target;
    std::string athlete;                    ///< call-sign; "": nobody stands there but the deeds
    bool sound = false;                     ///< this computer has a sound device
    Duration met_before{};                  ///< how long the rig is there before the session begins
    Duration trouble{};                     ///< how long it lasts; then everything is mended
    Duration commit_after{};                ///< how long the disk takes
    std::vector<TimedDeed> deeds;           ///< by time, all within `trouble`
    std::optional<std::int32_t> killed_at;  ///< the call of the journal at which the program ends
};

[[nodiscard]] Plan draw_plan(std::uint64_t seed);

}  // namespace breakstep::swarm
