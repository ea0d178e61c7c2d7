// A journal written by hand: a rig, a drill and what happened, at chosen times. For tests of score.
//
// Times are ns since the boot of the moment; the next record's position follows by itself. Owned by one test.
#pragma once

#include <optional>
#include <utility>
#include <vector>

#include "core/score/score.hpp"

namespace breakstep::testing {

inline constexpr BootId first_boot{77};
inline constexpr BoardId the_board{4711};
inline constexpr Duration pad_bound = 120us;
inline constexpr Duration onset_uncertainty = 15us;

struct GatesOf {
    bool near = true, far = true, back = true;
};

class JournalScript {
  public:
    std::vector<JournalRecord> records;
    BootId boot = first_boot;
    std::uint16_t sequence = 0;

    [[nodiscard]] TargetTime at(Duration since_boot) const { return {boot, since_boot}; }

    void add(JournalEvent event) {
        records.push_back({static_cast<std::int64_t>(records.size()), HostTime{}, std::move(event)});
    }

    /// A session on a rig with four pads and the given gates.
    void begin(GatesOf gates = {}, Duration lead = 100ms) {
        SessionBegan began;
        began.drill.name = "by-hand";
        began.drill.lead = lead;
        add(began);
        connect(gates, 0ms);
    }
    void connect(GatesOf gates, Duration snapshot) {
        RigConnected rig{the_board, boot, at(snapshot), 0, {}};
        for (std::uint8_t i = 0; i < 4; ++i) rig.channels.push_back({ChannelKind::pad, i, i, false, pad_bound});
        const bool fitted[] = {gates.near, gates.far, gates.back};
        for (std::uint8_t i = 0; i < 3; ++i)
            if (fitted[i]) rig.channels.push_back({ChannelKind::gate, i, i, false, 10us});
        add(rig);
    }
    void plan(std::int32_t set, Duration begin, bool redrawn = false) { add(SetPlanned{set, at(begin), redrawn, {}}); }

    void hit(Duration when, PadRole pad = PadRole::high_right, std::uint16_t peak = 500) {
        add(PadHit{at(when), sequence++, pad, peak, 0});
    }
    /// A beam broken and restored 40 ms later.
    void cross(Duration when, GateRole gate) {
        edge(when, gate, true);
        edge(when + 40ms, gate, false);
    }
    void edge(Duration when, GateRole gate, bool broken) { add(GateEdge{at(when), sequence++, gate, broken}); }

    /// Opens a rep whose attack has these phases; `close` is planned.
    void open(RepId rep, const AttackChoice& asked, const std::vector<AttackPhase>& phases, Duration onset,
              Duration close) {
        RepOpened opened;
        opened.rep = rep;
        opened.number = static_cast<std::int32_t>(rep) + 1;
        opened.asked = asked;
        opened.onset = at(onset);
        opened.close = at(close);
        opened.phases = phases;
        add(opened);
    }
    void open_catch_trial(RepId rep, Duration onset, Duration close) {
        RepOpened opened;
        opened.rep = rep;
        opened.catch_trial = true;
        opened.onset = at(onset);
        opened.close = at(close);
        add(opened);
    }
    /// Every border of the attack, confirmed by the lamps to be where it was planned.
    void confirm(RepId rep, const std::vector<AttackPhase>& phases, Duration onset,
                 Uncertainty uncertainty = onset_uncertainty, OnsetSource source = OnsetSource::lamp) {
        for (std::size_t i = 0; i <= phases.size(); ++i) {
            const Phase phase = i < phases.size() ? phases[i].phase : Phase::guard;
            add(PhaseBegan{rep, static_cast<std::int32_t>(i), phase, at(onset), uncertainty, source});
            if (i < phases.size()) onset += phases[i].length;
        }
    }
    void close(RepId rep, Duration end) { add(RepClosed{rep, at(end)}); }
    void void_rep(RepId rep, VoidReason reason) { add(RepVoided{rep, reason}); }
};

/// A script folded into a score, with everything it said.
struct Folded {
    Score score;
    std::vector<ScoreResult> results;

    explicit Folded(const JournalScript& script) : Folded(script.records) {}
    Folded(const JournalScript& script, reading::ReadingMethod method) : score(method) {
        for (const JournalRecord& record : script.records) score.fold(record, results);
    }
    explicit Folded(const std::vector<JournalRecord>& records) {
        for (const JournalRecord& record : records) score.fold(record, results);
    }
    template <class Result>
    [[nodiscard]] std::vector<Result> all() const {
        std::vector<Result> found;
        for (const ScoreResult& result : results)
            if (const auto* one = std::get_if<Result>(&result)) found.push_back(*one);
        return found;
    }
};

[[nodiscard]] inline Duration length_of(const std::vector<AttackPhase>& phases) {
    Duration total{};
    for (const AttackPhase& phase : phases) total += phase.length;
    return total;
}

}  // namespace breakstep::testing
