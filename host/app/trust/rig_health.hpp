// Watches a rig while a drill runs and notices what a coach would want to know: a gate blocked for three seconds, a pad
// gone quiet or firing alone, a hall too loud for sound cues. Each trouble is said once until it is over.
//
// Pure: fed with the session's records; times are the rig's. Owned by the driver, engine's thread. The rules are common
// practice, no source.
#pragma once

#include <array>
#include <deque>
#include <optional>
#include <string>
#include <vector>

#include "core/events.hpp"

namespace breakstep {

struct HealthNotice {
    std::string what, to_do;
    bool operator==(const HealthNotice&) const = default;
};

class RigHealth {
  public:
    static constexpr Duration blocked_too_long = 3s;
    /// A pad that was struck before and is missing from so many strikes has likely come loose.
    static constexpr int strikes_without = 30;
    static constexpr int strikes_before = 4;
    /// So many blows on one pad within a second are no person's.
    static constexpr int alone_hits = 6;
    static constexpr Duration alone_span = 1s;
    /// Sounds at the microphone that nobody of us played, in ten seconds.
    static constexpr int loud_edges = 15;
    static constexpr Duration loud_span = 10s;

    /// Folds one record in; appends what is new to `out`.
    void fold(const JournalEvent& event, std::vector<HealthNotice>& out);
    /// The rig's time goes on without events: a gate may still be blocked.
    void time_is(TargetTime now, std::vector<HealthNotice>& out);

  private:
    struct Gate {
        std::optional<TargetTime> broken;
        bool told = false;
    };
    struct Pad {
        int strikes = 0;
        int missing = 0;
        std::deque<TargetTime> recent;
        bool told_quiet = false, told_alone = false;
    };

    void on_hit(const PadHit& hit, std::vector<HealthNotice>& out);
    void on_sync(const SyncEdge& edge, std::vector<HealthNotice>& out);
    void restart();

    std::array<Gate, 6> gates_{};
    std::array<Pad, 4> pads_{};
    std::deque<TargetTime> foreign_sounds_;
    std::deque<TargetTime> own_sounds_;
    bool told_loud_ = false;
};

}  // namespace breakstep
