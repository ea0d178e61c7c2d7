// The host's real engine (link, conduct, score) at one end of a line, the firmware on the simulated board at the other,
// and an athlete who strikes at times that are known to the cycle. What drives it (lock-step or the wall clock) derives
// from this.
//
// Owned by a leg of the truth test; single thread. Throws what BoardProcess throws.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "hall/engine/engine.hpp"
#include "truth/board_process.hpp"
#include "truth/ledger.hpp"
#include "truth/sound_stream.hpp"
#include "truth/true_time.hpp"

namespace breakstep::tests {

enum class CueKind : std::uint8_t { lamps, sound };

struct LatencyError {
    double us = 0;         ///< what the host said minus the truth
    double stated_us = 0;  ///< its own uncertainty
};

struct LegReport {
    std::vector<LatencyError> lamp_cued, host_cued;
    std::vector<double> lamps_us;  ///< stamps of lamp changes against the truth
    StampErrors stamps;
    std::uint64_t reps = 0;      ///< with a latency
    std::uint64_t unscored = 0;  ///< reps that should have had one and had none
    std::vector<std::string> unscored_because;
    std::uint64_t unstruck = 0;  ///< reps opened so late that no strike could be planned: the host was held up
    std::uint64_t voided =
        0;  ///< reps that the host itself voided: its clock's bound grew too wide, or the link was lost
    std::uint64_t damaged = 0;  ///< bytes damaged on the way
    std::uint64_t resets = 0;
    void add(const LegReport& other);
};

class Bench {
  public:
    Bench(const EngineSettings& settings, const BoardOptions& board_options, std::uint64_t seed);
    virtual ~Bench() = default;
    Bench(const Bench&) = delete;
    Bench& operator=(const Bench&) = delete;

    /// A session of `reps` reps cued by one kind.
    void run_session(CueKind cue, int reps);
    /// Edges on every gate, `per_second` of them, with no session.
    void run_edges(std::uint64_t edges, double per_second);
    /// Until the rig is found and the clock's bound is good. Throws after `patience`.
    void connect(Duration patience = 10s);
    void pass(Duration span);
    /// Reps so far with a latency.
    [[nodiscard]] int scored(CueKind cue) const;
    LegReport report();

  protected:
    /// Takes what is due until `limit` at the latest, at least one thing; false if the limit is reached.
    virtual bool step(HostTime limit) = 0;
    virtual void write(const OutFrame& frame, HostTime now) = 0;

    /// Called between the steps of a session, and for each of its journal's records.
    virtual void on_step() {}
    virtual void on_record(const JournalRecord&) {}
    /// The partner is to do it at its moment.
    virtual void on_partner_cue(const PartnerCue&) {}
    /// Whoever else acts: when next, and the acts that are due by `now`.
    [[nodiscard]] virtual std::optional<HostTime> next_act() const { return std::nullopt; }
    virtual void act(HostTime) {}
    /// Called for what the rig says outside sessions, and for what left the host for the sync input to notice.
    virtual void on_rig_answer(const LinkEvent&) {}
    virtual void on_test_sound(TargetTime) {}
    virtual void on_flash(TargetTime) {}
    /// A set runs: not waiting for a strike, not counting.
    [[nodiscard]] bool running() const;

    void drain(HostTime now);
    void begin(const TrueTime& time, HostTime now);
    /// The earliest of the engine's and the sound's own wishes.
    [[nodiscard]] HostTime next_own_due() const;
    void take_own_due(HostTime now);
    /// Until it is done. The session's id and seed are drawn here.
    void run_session(SessionBegan session, Duration longest);
    /// Returns the cycle at which the level reaches the threshold.
    std::uint64_t strike(std::uint64_t at);
    void walk(std::uint64_t cycle, unsigned gate, bool broken);
    /// In past the far and the near mark before a strike at `cycle`, and out again.
    void walk_in_and_out(std::uint64_t cycle);
    [[nodiscard]] std::uint64_t cycle_of(TargetTime time) const;

    Random random_;
    Engine engine_;
    BoardProcess board_;
    std::optional<TrueTime> time_;
    std::optional<SoundStream> sound_;
    HostTime now_{};
    Duration wait_extra_ = 150ms;  ///< mean of the drill's random waits beyond their 300 ms
    bool strikes_by_plan_ = true;  ///< the athlete answers what was planned

  private:
    struct Rep {
        std::uint64_t crossing = 0;          ///< of the athlete's strike
        std::optional<std::uint64_t> onset;  ///< true cycle of the asked moment's beginning
        std::optional<RepResult> result;
        CueKind cue{};
    };
    void take(const JournalRecord& record);
    void take(const RepOpened& rep);
    void take(const PhaseBegan& phase);
    void take(const CueOnset& onset);
    void take(const LampsSet& lamps);
    void take(const RigConnected& rig);
    void start_when_asked();
    [[nodiscard]] std::optional<std::uint64_t> lamp_change_near(std::uint64_t cycle) const;

    Ledger ledger_;
    EngineOutput out_;
    CueKind cue_{};
    std::uint64_t session_ = 0;
    HostTime start_again_{};
    bool session_done_ = false;
    std::map<std::pair<std::uint64_t, std::int32_t>, Rep> reps_;
    std::map<std::pair<std::uint64_t, std::int32_t>, std::pair<std::int32_t, std::int64_t>>
        heard_;  ///< rep: index, frame
    std::map<std::pair<std::uint64_t, std::int32_t>, std::int32_t> asked_index_;
    std::vector<double> lamps_us_;
    std::uint8_t lit_told_ = 0;
    std::uint64_t unstruck_ = 0;
    std::map<BootId, std::size_t> boots_;  ///< place in the board's list
};

/// In simulated time: the board advances only as far as the host has decided what to do.
struct LockStepSettings {
    std::uint64_t seed = 1;
    bool slow_latency_timer = false;
    double damage = 0.001;
    double drift = 0;  ///< of the rig's crystal
    bool partner =
        false;  ///< the box's switch at partner: a low and a hip gate; what to do stands on their own display
};
LegReport run_in_lock_step(const LockStepSettings& settings, int lamp_reps, int sound_reps, std::uint64_t edges);

/// Over a pseudo-terminal at the pace of the wall clock.
LegReport run_paced(std::uint64_t seed, double drift, int lamp_reps, int sound_reps);

}  // namespace breakstep::tests
