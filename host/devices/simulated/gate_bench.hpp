// The light gates of a simulated rig: bodies that block beams, and what the firmware's debounce makes of the edges.
// Knows no wire; RigModel owns it and calls it in order of time. Pure; one thread.
//
// After a reported change, edges within the debounce time are swallowed and counted; if the gate has another state when
// that time is over, that change is reported too, with the time of the edge that led to it.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

#include "core/time.hpp"

namespace breakstep {

struct GateChange {
    std::size_t gate = 0;
    HostTime at;  ///< as stamped, before the sensor's own lateness
    bool broken = false;
};

class GateBench {
  public:
    explicit GateBench(std::size_t gates) : gates_(gates) {}

    /// Something begins (+1) or ceases (-1) to block the beam; two legs may do so at once. True if the light changed.
    bool block(std::size_t gate, int bodies);
    /// The light at the sensor changed, by a body or a flicker.
    std::optional<GateChange> edge(HostTime at, std::size_t gate, bool dark);
    /// Call at lock_ends(): a change that was swallowed but lasts.
    std::optional<GateChange> unlock(HostTime now, std::size_t gate);
    /// After edge() or unlock() reported a change: when to call unlock().
    [[nodiscard]] HostTime lock_ends(std::size_t gate) const { return gates_[gate].locked_until; }
    /// A boot: the state is read anew and no event is made of it.
    void restart();

    [[nodiscard]] bool broken(std::size_t gate) const { return gates_[gate].reported; }
    [[nodiscard]] bool blocked(std::size_t gate) const { return gates_[gate].bodies > 0; }
    [[nodiscard]] std::uint16_t& debounce(std::size_t gate) { return gates_[gate].debounce; }  ///< 0.1 ms
    [[nodiscard]] std::uint64_t bounces() const { return bounces_; }

  private:
    struct Gate {
        int bodies = 0;
        bool dark = false, reported = false;
        HostTime locked_until{}, last_edge{};
        std::uint16_t debounce = 20;
    };
    GateChange report(Gate& gate, std::size_t index, HostTime stamp, HostTime now);

    std::vector<Gate> gates_;
    std::uint64_t bounces_ = 0;
};

}  // namespace breakstep
