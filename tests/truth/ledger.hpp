// What truly happened at each pad and gate, against what the host was told: nothing may be lost, doubled or altered,
// and the stamps are held against the true cycles. Single thread; cannot fail.
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "core/journal/events.hpp"
#include "truth/board_process.hpp"

namespace breakstep::tests {

inline constexpr unsigned gate_count = 5, pad_count = 4;
/// The socket behind a role, with the box's switch at solo (RIG.md).
[[nodiscard]] int gate_of(GateRole role);

struct StampErrors {
    std::vector<double> capture_us, interrupt_us, pin_change_us, pads_us;  ///< stamp minus truth, signed
    std::uint64_t lost = 0, doubled = 0, altered = 0, events = 0;
};

class Ledger {
  public:
    void gate_moved(std::uint64_t cycle, unsigned gate, bool broken) {
        gates_[gate].truth.push_back({cycle, broken ? 1.0 : 0.0});
    }
    /// `crossing`: when the level truly reached the threshold.
    void pad_struck(std::uint64_t crossing, unsigned pad, double peak) { pads_[pad].truth.push_back({crossing, peak}); }
    void told(const GateEdge& edge);
    void told(const PadHit& hit);

    [[nodiscard]] StampErrors compare(std::uint64_t clock_zero) const;

  private:
    struct Truth {
        std::uint64_t cycle;
        double value;  ///< broken, or the peak
    };
    struct Told {
        double us;  ///< rig time
        double value;
    };
    struct Channel {
        std::vector<Truth> truth;
        std::vector<Told> told;
    };
    static void compare(const Channel& channel, std::uint64_t clock_zero, bool peaks, StampErrors& out,
                        std::vector<double>& errors);

    std::array<Channel, gate_count> gates_;
    std::array<Channel, pad_count> pads_;
};

}  // namespace breakstep::tests
