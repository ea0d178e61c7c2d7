// A free exchange, as far as the gates of one rig see it: the athlete's step-ins and retreats, the partner's toe-offs.
// Who makes whom go (leading/who_leads.hpp), what makes the partner kick, the live tempo of each; and the coin drill.
// What no gate sees is not claimed: where the partner moves is not known.
//
// Promises, each wrong for at most 1 pair in 20: that one leads the other (two directions, 1 in 40 each); that the
// partner can be read (what they kick with, and a kick after one or after two retreats: 1 in 80 each for the last two,
// 1 in 40 for the first); that the partner makes the athlete go (the coin).
//
// Acts come nearly in order; complete() feeds those before a moment in order of time. Owned by Score, on its thread;
// keeps every interval of the session; can't fail. An act that comes after complete() passed it is counted and left.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "core/journal/events.hpp"
#include "core/leading/coin_drill.hpp"
#include "core/leading/who_leads.hpp"
#include "core/reading/choice_test.hpp"
#include "core/score/edge_watch.hpp"

namespace breakstep::scoring {

/// How someone's acts follow each other, for display only.
struct LiveTempo {
    std::uint64_t intervals = 0;
    std::optional<Duration> median;  ///< of the last twelve
    double variation = 0;            ///< CV of those
};

/// What makes the partner kick: nothing told yet, or one of these.
enum class PartnerHabit : std::uint8_t { none, after_one_retreat, after_two_retreats, kicks_alike };

class Exchange {
  public:
    Exchange();

    void entry(Duration at) { add(at, What::entry); }
    void retreat(Duration at) { add(at, What::retreat); }
    void lift(Duration at) { add(at, What::lift); }
    void coin(Duration at, const CoinThrown& thrown);
    /// What a rep's leg came to: the partner's choice.
    void kicked(CameKind came);
    /// From here on the partner is to be led to the end of their room; `within` is how soon an attack there counts.
    void watch_edge(Duration within) { edge_.emplace(within); }
    /// Of a drill in which they are; else null.
    [[nodiscard]] EdgeWatch* edge() { return edge_ ? &*edge_ : nullptr; }
    [[nodiscard]] const EdgeWatch* edge() const { return edge_ ? &*edge_ : nullptr; }
    /// Everything before `through` has been told.
    void complete(Duration through);
    /// A stop, lost events, the end of a set: everything told so far counts, what is open does not.
    void interrupted();
    /// The rig started anew: its times begin again, and what was told before stands.
    void other_boot();

    /// The athlete is a, the partner b.
    [[nodiscard]] const leading::WhoLeads& bout() const { return bout_; }
    [[nodiscard]] const leading::FollowTest& after_one_retreat() const { return one_retreat_; }
    [[nodiscard]] const leading::FollowTest& after_two_retreats() const { return two_retreats_; }
    [[nodiscard]] const reading::ChoiceTest& kinds() const { return kinds_; }
    [[nodiscard]] PartnerHabit partner_habit() const;
    [[nodiscard]] const leading::CoinDrill& coin_drill() const { return coin_; }
    [[nodiscard]] LiveTempo athlete_tempo() const { return tempo_of(entries_); }
    [[nodiscard]] LiveTempo partner_tempo() const { return tempo_of(lifts_); }
    [[nodiscard]] std::uint64_t late() const { return late_; }

  private:
    enum class What : std::uint8_t { entry, retreat, lift };
    struct Act {
        Duration at;
        What what;
    };
    struct Trial {
        Duration from, to;
        bool cued, entered = false;
    };
    void add(Duration at, What what);
    void feed(const Act& act);
    [[nodiscard]] static LiveTempo tempo_of(const std::vector<Duration>& acts);

    leading::WhoLeads bout_;
    leading::FollowTest one_retreat_, two_retreats_;
    reading::ChoiceTest kinds_;
    double most_kinds_ = 0;  // ln wealth
    leading::CoinDrill coin_;
    std::optional<EdgeWatch> edge_;
    std::vector<Act> waiting_;  // in order of time
    std::vector<Trial> trials_;
    std::vector<Duration> entries_, lifts_;  // the last few of this stretch
    std::optional<Duration> fed_until_;
    Duration shift_{}, last_{};  // so that times of a later boot come after those of an earlier one
    int retreats_ = 0;           // since the partner's last kick
    std::uint64_t late_ = 0;
};

}  // namespace breakstep::scoring
