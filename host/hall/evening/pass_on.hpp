// Passing one's turn on by the pads: two strikes at low pads within 1.5 s, then leaving by the far or the back mark
// within 3 s. Children strike twice, so that the leaving belongs to it; without low pads or gates it can't be done.
// Ours. Pure; owned by the evening's owner, on its thread.
#pragma once

#include <optional>

#include "core/journal/events.hpp"

namespace breakstep {

class PassOn {
  public:
    static constexpr Duration strikes_within = 1500ms, left_within = 3s;
    /// Two pads feel one blow, and a pad may ring.
    static constexpr Duration one_blow = 100ms;

    void clear() { *this = PassOn(); }
    void take(const PadHit& hit);
    /// True once the turn is passed on.
    [[nodiscard]] bool take(const GateEdge& edge);

  private:
    std::optional<TargetTime> first_, second_;
};

}  // namespace breakstep
