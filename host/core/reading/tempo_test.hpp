// The tempo test: can the athlete's next entry be timed? A betting test that predicts first and looks second.
//
// It starts with a wealth of 1 and bets on each interval at odds that an unpredictable athlete (law.hpp) can't beat on
// average: E(wealth) never grows, so the chance that it ever reaches w is at most 1 / w (Ville 1939; Shafer 2021), no
// matter when one looks. 20 is a tell (at most 5 % of unpredictable drills), 8 a hunch (at most 12.5 %).
//
// The wealth lies in the accounts of accounts.hpp and a rest of cash. An account whose bell has centre c, spread s
// and stake f multiplies its share by 1 - f + f p(ln D) / h(D). After each interval all keep 96 %, and 4 % of the total
// is shared out by prior. One window of +-0.15 s is announced for each entry, around the centre of the account that has
// bet best of late (its log multipliers, forgotten by 3 % an interval), from the 4th interval.
//
// An interval may end in three ways. An entry settles all bets. A cue that was fixed before the interval began cuts it:
// what is known is only that the entry comes later. Void changes no wealth: it began during an attack, its cue depended
// on the athlete's movement, or the cue came within the shortest interval. An interval is never dropped for its own
// length.
//
// TempoMethod::tight pays what tight_bet.hpp says instead of the plain sum.
//
// Owned by one fold; one thread; fixed memory, no allocation; constant cost per interval; cannot fail. Calling order:
// predict, then exactly one of entered, cut, nothing; any other order is a broken invariant.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string_view>

#include "core/reading/accounts.hpp"
#include "core/reading/history.hpp"
#include "core/reading/known_athlete.hpp"
#include "core/reading/running_sum.hpp"
#include "core/reading/tight_bet.hpp"
#include "core/time.hpp"

namespace breakstep::reading {

/// What makes an athlete timeable: the group of accounts that holds most wealth.
enum class TempoCause : std::uint8_t { one_beat, favourite_beat, long_short, three_beat, pattern };
inline constexpr std::size_t tempo_cause_count = 5;
[[nodiscard]] std::string_view word(TempoCause);

/// Since the interval began; both ends belong to it.
struct Window {
    Duration from;
    Duration to;
    [[nodiscard]] bool holds(Duration moment) const { return from <= moment && moment <= to; }
    [[nodiscard]] Duration centre() const { return from + (to - from) / 2; }
};

/// Announced as an interval begins.
struct Forecast {
    std::optional<Window> window;
    double chance = 0;             ///< that a memoryless athlete of this pace enters in the window
    Account by = Account::median;  ///< whose centre it is
};

/// What became of an announced window.
struct WindowOutcome {
    Window window;
    bool hit;
    double chance;
};

class TempoTest {
  public:
    explicit TempoTest(TempoMethod method = TempoMethod::plain, const KnownAthlete& known = {});

    /// Begins an interval. `shortest` (above 0) is the shortest time in which the athlete can enter again, as known
    /// now.
    /// `needed` is the wealth that a tell still needs: the tight bet wastes nothing beyond it; the plain one ignores
    /// it.
    const Forecast& predict(Duration shortest, double needed = 20.0);

    /// The interval ended in an entry after `length` (above 0). The window's outcome, if one was announced.
    std::optional<WindowOutcome> entered(Duration length);

    /// A cue at `cue`, fixed before the interval began, came first. For centres the interval is imputed: the median of
    /// observed intervals above `beyond`, else 1.15 `beyond`; `beyond` is the cue itself unless the attacker aimed at
    /// the window (a hunted drill, core/conduct/starts.cpp). A cue within the shortest interval makes it void. The
    /// window comes back only if it ended before the cue: it was missed.
    std::optional<WindowOutcome> cut(Duration cue, std::optional<Duration> beyond = std::nullopt);

    /// The interval is void. `observed`, if given, is its whole undisturbed length, from which centres may learn.
    void nothing(std::optional<Duration> observed = std::nullopt);

    /// By what the wealth will be multiplied if the open interval ends in an entry after `length`.
    [[nodiscard]] double multiplier_at(Duration length) const;

    [[nodiscard]] double log_wealth() const { return log_wealth_.value(); }
    /// Up to 1e300; beyond that it stays there.
    [[nodiscard]] double wealth() const;
    /// The group with most wealth after the last settled interval.
    [[nodiscard]] TempoCause cause() const;
    /// Shares of the wealth, accounts then cash, after the last interval and before sharing out.
    [[nodiscard]] const std::array<double, account_count + 1>& shares() const { return earned_; }

    /// The athlete's pace: mean interval in seconds, as chance is reckoned with it.
    [[nodiscard]] double pace_seconds(Duration shortest) const;
    [[nodiscard]] const IntervalHistory& history() const { return history_; }
    /// Bets of the interval that is open or was settled last.
    [[nodiscard]] const Bets& bets() const { return bets_; }

  private:
    using Shares = std::array<double, account_count + 1>;  // of the wealth, by account; the last is cash
    void announce();
    void lay_tight_bet(double needed);
    [[nodiscard]] double density_of(std::size_t account, double logarithm) const;
    /// What the accounts make of an entry at `interval`: their shares times their multipliers, not scaled.
    [[nodiscard]] Shares settled(double interval, double logarithm) const;
    [[nodiscard]] Shares settled_beyond(double logarithm) const;
    void take(const Shares& multiplied, double paid);
    void close(double interval, bool observed);
    void require_open();

    TempoMethod method_;
    IntervalHistory history_;
    Accounts accounts_;
    KnownLaw known_;
    TightBet tight_bet_;
    Bets bets_{};
    Forecast forecast_;
    Duration shortest_{0};
    bool open_ = false;
    Shares priors_;
    Shares shares_;
    Shares earned_;
    std::array<double, account_count> merit_{};  // log multipliers, forgotten by 3 % an interval
    RunningSum log_wealth_;
    Duration beyond_shortest_{0};  // sum of max(min(D, 4 s) - r, 0), exact
    std::uint64_t paced_ = 0;      // intervals of at most 4 s
};

}  // namespace breakstep::reading
