// A class without a rig: what each pair's attacker does, cue after cue, and when they change over. From a drill's
// attacks and a seed.
//
// Pure; any thread; cannot fail. The same drill, numbers and seed give the same plan. A cue is a stretch of time in
// which the attacker picks the moment: a sound on the attack would tell the defender when.
#pragma once

#include <cstdint>
#include <vector>

#include "core/time.hpp"
#include "core/trade/drill.hpp"

namespace breakstep {

struct PairsOptions {
    std::int32_t pairs = 4;         ///< 1 .. 10: as many tiles can be read from four metres
    std::int32_t rounds = 2;        ///< 1 .. 20; who attacks changes after each
    std::int32_t cues = 8;          ///< of a round, 1 .. 60
    Duration window = 3s;           ///< of a cue: any moment in it is right to attack
    Duration pause = 3s;            ///< after a cue at least: back to the place, and guard
    Duration pause_extra = 1500ms;  ///< mean of the exponential that is added
    Duration change_over = 20s;     ///< before each round
};

/// For each pair the index of its attack into Drill::attacks.
struct PairsCue {
    Duration at{}, until{};  ///< since the class began
    std::vector<std::int32_t> attacks;
};

struct PairsRound {
    bool first_attacks = true;               ///< of each pair, the one that is named first
    Duration change_from{}, begin{}, end{};  ///< change over, then the round: tones at its begin and end
    std::vector<PairsCue> cues;
};

/// Each pair meets the drill's attacks by their shares, in an order of its own.
[[nodiscard]] std::vector<PairsRound> plan_pairs(const Drill& drill, std::uint64_t seed, const PairsOptions& options);

}  // namespace breakstep
