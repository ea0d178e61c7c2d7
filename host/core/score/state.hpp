// The state of Score. How a contact finds its rep, and other interpretations of the verdicts' order:
//
// - Score collects what the rig saw by stamp; RepClosed decides. Rep k's stretch is [end of rep k - 1, its own end),
// and
//   not before the begin of the plan that its onset belongs to: the strike that starts a set, and what happened in a
//   rest, answer no attack. Conduct decides ahead, so the next rep may be open before this one closes; stamps tell
//   them apart.
// - Contacts of the first 300 ms after a rep's end go to that rep as later contacts. They never change its verdict,
// which
//   has been said; a follow-up blow must not count as an early strike at the next attack.
// - A rep with a border that was never confirmed is void (link_lost): no phase, no verdict.
// - Lost events void every rep whose stretch they can have fallen in: between the last stamp before the hole and the
//   first after it, with the slack by which stamps may arrive out of order.
// - Times of two boots never meet: Score keeps ns since one boot, and takes nothing of another.
#pragma once

#include <array>
#include <optional>
#include <vector>

#include "core/leg/leg_reader.hpp"
#include "core/score/asked_beside.hpp"
#include "core/score/exchange.hpp"
#include "core/score/live_watch.hpp"
#include "core/score/lure_watch.hpp"
#include "core/score/rep_book.hpp"
#include "core/score/rhythm.hpp"
#include "core/score/rig_log.hpp"
#include "core/score/score.hpp"
#include "core/score/totals.hpp"
#include "core/score/verdict.hpp"
#include "core/trade/rules.hpp"

namespace breakstep {

struct Score::State {
    using Results = std::vector<ScoreResult>;

    static constexpr std::size_t backwards_max = 64;
    static constexpr std::int64_t rate_max = 20'000'000;         ///< ppb; PROTOCOL.md allows half of it
    static constexpr Duration never{-(std::int64_t{1} << 61U)};  ///< before any plausible time

    void fold(const JournalEvent& event, Results& out);
    [[nodiscard]] SessionTotals totals() const;

    void on(const UnknownEvent&, Results& out);
    void on(const SessionBegan& began, Results& out);
    void on(const SessionEnded& ended, Results& out);
    void on(const RigConnected& connected, Results& out);
    void on(const EventsLost& lost, Results& out);
    void on(const PadHit& hit, Results& out);
    void on(const GateEdge& edge, Results& out);
    void on(const StartStruck& struck, Results& out);
    void on(const SetPlanned& planned, Results& out);
    void on(const RepOpened& opened, Results& out);
    void on(const PhaseBegan& began, Results& out);
    void on(const RepClosed& closed, Results& out);
    void on(const RepVoided& voided, Results& out);
    void on(const SetEnded& ended, Results& out);
    void on(const IntervalCoin& coin, Results& out);
    void on(const ClockRate& known, Results& out);
    void on(const EventSkipped& skipped, Results& out);
    // Kept for people, captures and conduct; no score depends on them. CueOnset stands beside PhaseBegan, which alone
    // says when a phase began.
    void on(const CalibrationUsed&, Results&) {}
    void on(const VideoMark&, Results&) {}
    void on(const RigLost&, Results&);
    void on(const SyncEdge&, Results&) {}
    void on(const LampsSet&, Results&) {}
    void on(const LampsRefused&, Results&) {}
    void on(const ClockBound&, Results&) {}
    void on(const CoachInput& input, Results& out);
    void on(const CueOnset&, Results&) {}
    void on(const NudgeShown&, Results&) {}
    void on(const CueSourceChanged&, Results&) {}
    void on(const SessionSuspended& suspended, Results& out);
    void on(const SessionResumed&, Results&) {}
    void on(const ContactSettled& settled, Results& out);
    void on(const LegExpected& expected, Results& out);
    void on(const PhaseSeen& seen, Results& out);
    void on(const PartnerCued& cued, Results& out);
    void on(const CoinThrown& coin, Results& out);

    void begin_boot(BootId now, scoring::GateSet gates, Duration at, Results& out);
    /// Whether a stamp is of this boot and can be; notes it.
    [[nodiscard]] bool accept(TargetTime at, std::uint16_t sequence, Results& out);
    void note_begin(Duration begin);
    void void_one(RepId id, VoidReason reason, Results& out);
    void void_open(VoidReason reason, Results& out);
    void close(const scoring::OpenRep& rep, const RepClosed& closed, Results& out);
    void describe_leg(const scoring::OpenRep& rep, const RepClosed& closed,
                      const std::optional<scoring::Attack>& attack, RepResult& result) const;
    [[nodiscard]] static VoidReason void_of_leg(const RepClosed& closed);
    void close_void(const RepClosed& closed, Results& out);
    void tell_rhythm(const RepResult& result, Duration toe_off, const scoring::Stretch& stretch, Results& out);
    [[nodiscard]] Duration begin_of(Duration onset, Duration end) const;
    [[nodiscard]] const scoring::Stretch& close_stretch(RepId rep, Duration begin, Duration end, Duration zero,
                                                        Results& out);
    [[nodiscard]] bool touched_by_loss(const scoring::Stretch& stretch) const;
    void settle_later_contacts(Results& out);
    void judge_beside(const scoring::Attack& attack, const scoring::Stretch& stretch, RepResult& result);
    void judge_footing(const scoring::Attack& attack, const scoring::Stretch& stretch, RepResult& result) const;
    void judge_edge(const scoring::Attack& attack, RepResult& result);
    void see_edge_until(Duration end);
    void settle_way_out(Duration known, Results& out);
    void drop_what_drew(const RepOpened& opened);
    void take_strays(std::optional<Duration> limit);
    [[nodiscard]] static bool is_retreat(const RepResult& result, Duration toe_off, const scoring::Stretch& stretch);

    [[nodiscard]] bool keeps_blows_with_voids() const { return session.rules >= 1; }
    [[nodiscard]] bool ran_backwards(const scoring::Stretch& stretch) const;
    [[nodiscard]] Duration scaled(Duration ticks) const;
    void scale(RepResult& result) const;

    /// The rep that closed last; `zero` is its toe-off.
    struct Previous {
        RepId rep{};
        Duration zero{}, end{};
        bool settled = false;  ///< its 300 ms are over
    };
    /// A hole in what the rig told, between two stamps.
    struct Loss {
        Duration from{};
        std::optional<Duration> to;
    };

    std::optional<reading::ReadingMethod> read_by;  ///< none: as the session says
    /// Stamps that ran back from one to the other.
    struct Backwards {
        Duration from{}, to{};
    };

    SessionBegan session;
    Duration lead{};
    std::optional<BootId> boot;
    std::array<Uncertainty, 4> pad_bounds{unknown_uncertainty, unknown_uncertainty, unknown_uncertainty,
                                          unknown_uncertainty};
    scoring::RigLog log;
    scoring::LiveWatch watch;
    scoring::RepBook book;
    scoring::Rhythm rhythm;
    std::optional<scoring::LureWatch> lure;  ///< of a drill in which a beat is set and broken
    scoring::AskedBeside beside;
    std::optional<scoring::Exchange> exchange;  ///< of a drill in which the partner kicks when they like

    std::optional<Previous> previous;
    std::vector<Duration> begins;  ///< of plans, and just after the strike that starts a set
    std::optional<Duration> start_strike;
    std::vector<Loss> losses;
    std::vector<Backwards> backwards;
    std::optional<ClockRate> rate;
    std::optional<Duration> latest;  ///< the newest stamp so far
    std::uint16_t last_sequence = 0;

    std::vector<scoring::Contact> contacts, taken;  ///< kept between calls for their memory
    std::vector<Duration> later;

    Duration time_between{}, time_known{};
    std::int32_t stray_contacts = 0, events_lost = 0, unknown_events = 0, impossible_events = 0;
};

}  // namespace breakstep
