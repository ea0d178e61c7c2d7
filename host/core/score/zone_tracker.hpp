// Where the athlete is, told from gates across the floor: near mark, far mark, back mark.
//
// Breaks of one gate under 250 ms apart are one pass (two legs); a pass flips the side at its first break. A contact
// proves the athlete inside the near mark. The first break of a pass also proves the other marks' sides: whoever breaks
// the far mark is outside the near one, whoever breaks the near mark is not beyond the far one. Until something proves
// it the zone is unknown; a snapshot of gates proves nothing, since a body in the middle of a zone breaks none.
//
// A value, fed in order of time by its owner; any one thread. Can't fail.
#pragma once

#include <array>
#include <cstdint>
#include <optional>

#include "core/score/score.hpp"
#include "core/time.hpp"
#include "core/trade/rules.hpp"
#include "core/trade/vocabulary.hpp"

namespace breakstep::scoring {

/// Bit i: the rig has the gate of GateRole i.
using GateSet = std::uint8_t;
[[nodiscard]] constexpr GateSet gate_bit(GateRole role) {
    return static_cast<GateSet>(1U << static_cast<unsigned>(role));
}

/// What one break told.
struct BreakSeen {
    bool pass_began = false;               ///< the first break of a pass
    bool inward = false, outward = false;  ///< the pass's way; both false where the side was unknown
    bool impossible = false;
};

class ZoneTracker {
  public:
    void begin_boot(GateSet gates);
    /// Sides and beams become unknown.
    void forget();

    BreakSeen broken(GateRole gate, Duration at);
    void restored(GateRole gate);
    void contact();

    [[nodiscard]] Zone zone() const;

  private:
    enum class Side : std::uint8_t { unknown, inner, outer };
    enum class Beam : std::uint8_t { unknown, whole, broken };
    static constexpr std::size_t mark_count = 3;

    [[nodiscard]] bool two_places(GateRole gate, Duration at) const;

    GateSet fitted_ = 0;
    std::array<Side, mark_count> side_{};
    std::array<Beam, gate_role_count> beam_{};
    std::array<std::optional<Duration>, gate_role_count> last_break_{};
};

}  // namespace breakstep::scoring
