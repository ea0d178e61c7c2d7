// A partner led to the edge: their back mark, the end of the room behind them, broken while the athlete stands outside
// the near mark. With the athlete inside it that is crowding, and no leading; where the athlete stood is not known, it
// is not claimed.
//
// Who is at the edge is there until the time for an answer is over: passes so soon after the first are the same visit.
// Nobody can stand behind that mark; who did, and came back in through the beam, would read as at the edge once more.
//
// Fed in order of time, with what a stretch of the rig's log tells; ns since one boot. Owned by Exchange, on its
// thread; bounded: visits older than the time for an answer are dropped, and counted on. Can't fail.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "core/score/rig_log.hpp"
#include "core/score/score.hpp"

namespace breakstep::scoring {

class EdgeWatch {
  public:
    explicit EdgeWatch(Duration within) : within_(within) {}

    /// Passes of the partner's back mark, and where the athlete was; those told before are left out.
    void passed(std::span<const ZoneAt> passes);
    /// Times begin again; what was counted stands.
    void other_boot();

    struct Visit {
        Duration at{};
        AtEdge how{};  ///< led, crowded or unknown
    };
    /// The visit out of which an attack came: begun at most `within` before `toe_off`, and not after `met`, its
    /// contact. It is that attack's alone.
    [[nodiscard]] std::optional<Visit> take(Duration toe_off, Duration met);

    [[nodiscard]] Duration within() const { return within_; }
    [[nodiscard]] std::int32_t led() const { return led_; }
    [[nodiscard]] std::int32_t crowded() const { return crowded_; }
    [[nodiscard]] std::int32_t unknown() const { return unknown_; }

  private:
    Duration within_;
    std::vector<Visit> visits_;  // that an attack may still come out of
    std::optional<Duration> last_visit_, last_pass_;
    std::int32_t led_ = 0, crowded_ = 0, unknown_ = 0;
};

/// A session's counts: visits as the watch has them, and what became of those to which the athlete led, by the reps as
/// they are now. Null where no edge was asked for.
struct EdgeCounts {
    std::int32_t led = 0, crowded = 0, unknown = 0;
    std::int32_t attacked = 0;  ///< kicks out of a visit to which the athlete led
    std::int32_t answered = 0;  ///< of those, met on time and soon enough
    bool operator==(const EdgeCounts&) const = default;
};
class Exchange;
[[nodiscard]] std::optional<EdgeCounts> edge_counts(const Exchange* exchange, std::span<const RepResult> reps);

}  // namespace breakstep::scoring
