// The athlete's place and acts as they happen: what the stage shows and what a drawn attack answers.
//
// Fed on arrival, so that nothing waits for a rep's close; a stamp that comes after a later one of the same gate is
// left to the close, which sorts. Owned by Score; its thread; can't fail. The acts are common practice, no source:
// - entry: the first break of an inward pass of the near mark;
// - stop short: the athlete came inward past the far mark and left again past it within 1.5 s with the near mark whole.
//   Standing still between the marks is no act: no event would tell when it became one;
// - ground given twice: two outward passes of the far or back mark without an entry between; the next pair counts anew.
#pragma once

#include <array>
#include <cstdint>
#include <optional>

#include "core/score/score.hpp"
#include "core/score/zone_tracker.hpp"
#include "core/trade/rules.hpp"

namespace breakstep::scoring {

/// What an edge or contact was, beyond the zone.
struct Seen {
    bool zone_changed = false;
    bool entry = false, stop_short = false, ground_given_twice = false, ground_given = false;
    bool changed_pace = false;  ///< of an entry
    bool hand_shown = false, hand_hidden = false;
    bool near_outward = false, far_outward = false, far_inward = false, back_outward = false;
};

class LiveWatch {
  public:
    void begin_boot(GateSet gates);
    /// Whether ground given once is an act too: it is where the opponent comes after who gives it.
    void tell_ground(bool told) { tells_ground_ = told; }
    /// Events were lost, or the link was: the place becomes unknown. True if it was known.
    bool forget();

    Seen edge(GateRole gate, Duration at, bool broken);
    Seen contact(Duration at);

    [[nodiscard]] Zone zone() const { return zone_; }

  private:
    Seen acts_of(GateRole gate, Duration at, const BreakSeen& seen);
    [[nodiscard]] bool changes_pace(Duration entry);
    bool zone_moved();

    ZoneTracker tracker_;
    Zone zone_ = Zone::unknown;
    std::array<std::optional<Duration>, gate_role_count> last_edge_{};
    std::optional<Duration> last_mark_;
    std::optional<Duration> stepped_in_;  // an inward pass of the far mark, near mark whole since
    std::optional<Duration> last_entry_, hand_since_;
    std::array<std::optional<Duration>, 2> pace_;  // the last intervals between entries, the older first
    int ground_given_ = 0;
    bool tells_ground_ = false;
};

}  // namespace breakstep::scoring
