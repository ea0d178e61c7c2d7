// Does one person follow another? "A enters because B acted" and "B knows when A will go" look alike without
// intervention, so two explanations, each under its own plain assumption, must both be refuted before anything is said:
//
//   E  own rhythm: A's next entry has the density that A's entries alone forecast (own_forecast.hpp); B may do as it
//      likes. Wealth of 16 lag accounts (lag_bets.hpp) and a tenth of cash; after each entry 2 % is shared out anew.
//   X  luck of B's timing: A may do as it likes (metronome, pattern, drift); what B does in an interval is exchangeable
//      with what it did in earlier ones. Each entry's gain is divided by the mean gain with B's acts of the last 24
//      intervals that were at least as long (less 0.20 s) put in place of this one's, this one's among them.
//
// Both start at 1; judged at A's entries only, when no stake is open. Tell: E has ever reached 40 and X 20; hunch: 16
// and 8. Under (E) alone a direction is told falsely in at most 1 of 40, so both directions of a bout in 1 of 20 (Ville
// 1939); a false claim needs both assumptions to be wrong. What it can't exclude: a third cause (music, a clap, one
// common beat); the coin drill can (coin_drill.hpp).
//
// For display only, a count in words: before each interval the lag with the largest account; of the acts whose window
// lag e^-0.3 .. lag e^0.3 opened before the next act worked, how many were followed within it, and how many the own
// rhythm alone would give.
//
// Owned by one fold; one thread; keeps every interval of the bout (16 bytes and 8 an act); cannot fail. Times are by
// any one clock and must not run backwards: that would be a broken invariant.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <vector>

#include "core/leading/lag_bets.hpp"
#include "core/leading/own_forecast.hpp"
#include "core/reading/running_sum.hpp"
#include "core/trade/rules.hpp"
#include "core/time.hpp"
#include "core/trade/rules.hpp"
#include "core/trade/vocabulary.hpp"

namespace breakstep::leading {

struct FollowCount {
    std::uint64_t hits = 0;
    std::uint64_t of = 0;
    double chance = 0;  ///< hits that the own rhythm alone would give
};

class FollowTest {
  public:
    /// `tell`: at which E it is told, 40 where two directions share a promise of 1 in 20; a hunch at two fifths of it.
    explicit FollowTest(Duration shortest = usual_shortest, double tell = 40);

    /// The one who may be led enters. A second entry at the same moment is the same one.
    void entered(Duration at);
    /// The one who may lead acts. An act at the very moment of an entry is none.
    void acted(Duration at);
    /// The interval that is open is void (a stop, lost frames, a cue by the rig, a break): no bet, nothing learnt; the
    /// next entry starts afresh. It must not be decided by how long the interval was.
    void interrupted();

    [[nodiscard]] double log_e() const { return log_e_.value(); }
    [[nodiscard]] double log_x() const { return log_x_.value(); }
    /// No sign, a hunch or a tell, ever.
    [[nodiscard]] Sign sign() const { return tell_at_ ? Sign::tell : hunch_at_ ? Sign::hunch : Sign::none; }
    /// The interval of the one who is led, from 1, voids not counted.
    [[nodiscard]] std::optional<std::uint64_t> tell_at() const { return tell_at_; }
    [[nodiscard]] std::optional<std::uint64_t> hunch_at() const { return hunch_at_; }

    [[nodiscard]] const FollowCount& count() const { return count_; }
    /// The median of what passed between act and entry over all hits, in seconds.
    [[nodiscard]] std::optional<double> lag() const;
    /// The lag with the largest account, in seconds.
    [[nodiscard]] double leading_lag() const { return lag_seconds(leading_lag_index()); }
    [[nodiscard]] std::uint64_t intervals() const { return past_.size(); }
    /// Acts that were told apart, in intervals and out of them.
    [[nodiscard]] std::uint64_t acts() const { return acts_; }
    /// Acts that were taken for the one before.
    [[nodiscard]] std::uint64_t merged() const { return merged_; }
    [[nodiscard]] const OwnForecast& own() const { return own_; }

  private:
    struct Interval {
        double length;
        std::vector<double> acts;
    };
    using Shares = std::array<double, lag_account_count + 1>;  // of the wealth; the last is cash
    void settle(double length);
    [[nodiscard]] Gains mean_gains(const Gains& of_this, double length) const;
    void tally(double length);
    [[nodiscard]] std::size_t leading_lag_index() const;
    void judge();
    void require_order(Duration at);

    OwnForecast own_;
    double log_tell_, log_hunch_;
    Shares shares_;
    reading::RunningSum log_e_, log_x_;
    double most_log_e_ = 0, most_log_x_ = 0;
    std::optional<std::uint64_t> tell_at_, hunch_at_;
    std::vector<Interval> past_;
    std::vector<double> open_acts_;  // seconds since the last entry
    std::optional<Duration> began_, last_act_, latest_;
    std::uint64_t acts_ = 0, merged_ = 0;
    FollowCount count_;
    std::vector<double> hit_lags_;
};

/// exp(logarithm), up to 1e300; beyond that it stays there.
[[nodiscard]] double wealth_from(double logarithm);

}  // namespace breakstep::leading
