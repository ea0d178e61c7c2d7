// What a partner's kept kicks teach of them, so that an opponent can be made who kicks like them: with what, in which
// order, how fast, after how long, and whether giving ground makes them kick.
//
// What they kick with, and in which order, is their own only where nobody asked: of kicks that were told the drill's
// plan was the author. Lengths are taken from all kicks, as the low and the hip gate saw them; what no gate sees (how
// the way up and the pull-back share their time, leans) is the usual opponent's of the nearest level. The order is
// kick_order.hpp's. Waits are a minimum and an exponential (Epstein & Sobel 1954). Giving ground counts where the mean
// of the sessions' wealths, itself a wealth, is as high as one exchange asks.
//
// Fed with the records of sessions, one after another, each from its beginning. Pure; one owner, one thread; can't
// fail; a rep that the coach made void teaches nothing. Springs above the hip aren't told apart: what came as a second
// lift stands for a rebound.
#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <optional>
#include <vector>

#include "core/copying/kick_order.hpp"
#include "core/journal/events.hpp"
#include "core/score/score.hpp"
#include "core/score/zone_tracker.hpp"
#include "core/trade/drill.hpp"

namespace breakstep::copying {

/// No copy from fewer kicks that nobody asked for.
inline constexpr std::uint64_t fewest_own_kicks = 40;

struct PartnerCopy {
    std::uint64_t sessions = 0, kicks = 0, own_kicks = 0;
    KindCounts counts{};  ///< of their own
    KindShares shares{};
    KickOrder order;
    Level level = Level::intermediate;  ///< the nearest
    OpponentSettings lengths;
    Duration wait_minimum = 1200ms, wait_extra = 1500ms;
    std::optional<Manner> after_one_retreat, after_two_retreats;
};

class PartnerStudy {
  public:
    /// One record of a session.
    void fold(const JournalRecord& record);
    /// What was learned so far; of the session that was read last as well.
    [[nodiscard]] PartnerCopy copy() const;
    /// Their own kicks, in order; each stretch without a break by itself.
    [[nodiscard]] const Stretches& stretches() const { return stretches_; }

  private:
    struct Leg {
        bool told = false, voided = false;
        std::vector<PhaseSeen> seen;
    };
    struct Lengths {
        std::vector<double> lift, above, held, drop, gap, hands, feint;  // ns
    };
    // What the exchanges' own test says: whether giving ground makes them kick, and about how soon.
    struct Retreats {
        double wealth = 0, lag = 0;  // sums; of lags by hits
        std::uint64_t hits = 0, exchanges = 0;
        // How often and how soon: of the waits in which ground was given so often, from there to the lift; ns. What the
        // athlete gives while the leg is up is no asking.
        std::vector<double> waits;
        [[nodiscard]] std::optional<Manner> manner() const;
    };

    void on(const SessionBegan&);
    void on(const SetPlanned&);
    void on(const RigConnected&);
    void on(const GateEdge&);
    void on(const RepVoided&);
    void on(const LegExpected&);
    void on(const PhaseSeen&);
    void on(const RepClosed&);
    template <class Other>
    void on(const Other&) {}

    void wait_begins();
    void wait_ends(TargetTime lift);
    void learn(const Leg& leg, AttackKind kind);
    void measure(const Leg& leg, AttackKind kind);
    void settle(Retreats& one, Retreats& two) const;
    [[nodiscard]] OpponentSettings lengths_near(const OpponentSettings& usual) const;
    void add_order(PartnerCopy& copy) const;
    void add_waits(PartnerCopy& copy) const;

    std::uint64_t sessions_ = 0, kicks_ = 0;
    std::map<RepId, Leg> open_;
    Stretches stretches_;
    // From what a gate saw last of a kick to the next lift; what of it is the gap's, or the hands', is known at the
    // end.
    enum class Tail : std::uint8_t { none, gap, hands };
    struct Wait {
        double length;  // ns
        Tail tail;
    };
    std::vector<Wait> waits_;
    Tail last_tail_{};
    Lengths lengths_;
    std::optional<TargetTime> last_end_;
    bool goes_on_ = false;        // the stretch: nothing came between
    std::optional<Score> score_;  // of the session that is read
    std::vector<ScoreResult> ignored_;
    Retreats one_, two_;
    scoring::ZoneTracker tracker_;
    std::optional<BootId> boot_;
    bool waits_now_ = false;                         // no leg is up: a set runs, or a kick is over
    std::array<std::optional<TargetTime>, 2> gave_;  // ground in this wait, once and twice
};

}  // namespace breakstep::copying
