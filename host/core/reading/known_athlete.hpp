// What earlier sessions taught about one athlete's rhythm, and the account that bets on it.
//
// Most of what keeps the tempo test from its ceiling is learning the athlete's law anew each time. A prior from the
// athlete's own earlier sessions is fixed before the drill begins, so the promise stands: whatever the prior says, the
// wealth of an unpredictable drill has a mean of at most 1. If the prior is wrong, the test loses at most the share
// that it gave to it.
//
// The known law: the rhythm repeats after `period` intervals (1: one beat, 2: long-short, 3: three-beat) with a centre
// for each, which moves from day to day by `day_spread` as a whole and is hit with `spread`, all on ln(seconds). In
// which phase the athlete starts is not known; the account weighs the possible ones as it sees the intervals.
//
// Values; any thread. Text form (to_text, known_athlete_from): one line, for the journal's first event.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "core/error.hpp"
#include "core/reading/accounts.hpp"
#include "core/time.hpp"

namespace breakstep::reading {

struct KnownAthlete {
    static constexpr std::size_t period_max = 3;

    std::uint32_t sessions = 0;  ///< learnt from; 0: a stranger
    double trust = 0;            ///< prior share of the known law, 0 .. 0.5
    std::uint32_t period = 0;    ///< 0: no law is known
    std::array<double, period_max> centres{};
    double day_spread = 0.06;
    double spread = 0.10;
    double on_beat = 1.0;                        ///< share of intervals that follow the law, 0 .. 1
    std::array<double, account_count> shares{};  ///< of earlier wealth by account, summing to 1 (the last is unused)

    bool operator==(const KnownAthlete&) const = default;
};

/// From the undisturbed intervals of earlier sessions of this athlete on the same clock, oldest first; sessions of
/// fewer than 8 intervals teach nothing. Run it before the drill, never during it.
[[nodiscard]] KnownAthlete learn_athlete(std::span<const std::vector<Duration>> sessions, Duration shortest);

/// "" for a stranger.
[[nodiscard]] std::string to_text(const KnownAthlete& known);
/// Fails (damaged) on anything that to_text does not write.
[[nodiscard]] Expected<KnownAthlete> known_athlete_from(std::string_view text);

/// The account: one hypothesis for each phase the drill may have begun in.
class KnownLaw {
  public:
    explicit KnownLaw(const KnownAthlete& known);

    /// 0 where no law is known.
    [[nodiscard]] std::size_t period() const { return known_.period; }
    /// No centre where no law is known. Centre and spread are of the likeliest phase.
    [[nodiscard]] Bet bet() const;
    /// Density of ln D that is bet, over all phases.
    [[nodiscard]] double density(double logarithm) const;
    /// P(ln D > logarithm) under it.
    [[nodiscard]] double above(double logarithm) const;
    /// An imputed interval turns the phases on, and teaches nothing.
    void learn(double logarithm, bool observed);

  private:
    struct Hypothesis {
        double weight = 0;
        double shift = 0;  // of today's centres against the known ones
        double shift_variance = 0;
    };
    [[nodiscard]] double centre(std::size_t start) const;
    [[nodiscard]] double spread(const Hypothesis& hypothesis) const;

    KnownAthlete known_;
    std::array<Hypothesis, KnownAthlete::period_max> hypotheses_{};
    std::size_t phase_ = 0;
};

}  // namespace breakstep::reading
