// Watches a rig and notices what a coach would want to know: that it is away, and back; a reset, a clock that jumped;
// lamps that don't answer; a damaged line; a gate blocked for three seconds, a pad gone quiet or firing alone, a hall
// too loud for sound cues. Each trouble is said once until it is over.
//
// Pure: fed with the session's records (outside sessions with what the link tells), results and the link's counters;
// times are the rig's. Owned by the driver, engine's thread. The rules are common practice, no source.
#pragma once

#include <array>
#include <cstdint>
#include <deque>
#include <optional>
#include <string>
#include <vector>

#include "core/journal/events.hpp"
#include "core/score/score.hpp"
#include "link/link.hpp"

namespace breakstep {

struct HealthNotice {
    /// `away`, `back`: the rig answers no more, or again. `end`: why the session ended.
    enum class About : std::uint8_t { rig, away, back, end };
    std::string what, to_do;
    About about = About::rig;
    bool operator==(const HealthNotice&) const = default;
};

/// What the line was like between two counts: "18,211 frames, none damaged", for the end of a session.
[[nodiscard]] std::string line_summary(const LinkCounters& before, const LinkCounters& after);

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
    /// A line is called damaged from so many damaged frames on, if they are one in fifty or more.
    static constexpr std::uint64_t damaged_frames = 10, damaged_share = 50;

    /// Folds one record in; appends what is new to `out`.
    void fold(const JournalEvent& event, std::vector<HealthNotice>& out);
    /// A rep as it was scored.
    void fold(const RepResult& rep, std::vector<HealthNotice>& out);
    /// What the link counted since it was opened.
    void fold(const LinkCounters& counted, std::vector<HealthNotice>& out);
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

    enum class Missed : std::uint8_t { draw, room, steps, line, pads };

    void say_what_is_missing(std::vector<HealthNotice>& out);
    void say_what_the_drill_misses(std::vector<HealthNotice>& out);
    void on_lost(const RigLost& lost, std::vector<HealthNotice>& out);
    void on_bound(Uncertainty bound, std::vector<HealthNotice>& out);
    void on_void(const RepVoided& voided, std::vector<HealthNotice>& out);
    void on_skipped(const EventSkipped& skipped, std::vector<HealthNotice>& out);
    void on_hit(const PadHit& hit, std::vector<HealthNotice>& out);
    void on_sync(const SyncEdge& edge, std::vector<HealthNotice>& out);
    void restart();

    std::array<Gate, gate_role_count> gates_{};
    std::array<Pad, 4> pads_{};
    std::deque<TargetTime> foreign_sounds_;
    std::deque<TargetTime> own_sounds_;
    bool told_loud_ = false;
    bool away_ = false, unsure_ = false;
    bool told_late_ = false, told_backwards_ = false, told_unknown_ = false, told_range_ = false;
    std::optional<LinkCounters> counted_before_;
    bool told_damage_ = false;
    RigConnected rig_;
    std::optional<Drill> drill_;     ///< of the session
    std::uint8_t told_missing_ = 0;  ///< bit 0 lamps, bit 1 marks
    std::uint8_t told_missed_ = 0;   ///< by Missed
};

}  // namespace breakstep
