// The accounts of the tempo test: guesses at what makes the next interval between entries predictable. Each
// says where the next interval will lie (a bell on its logarithm: centre and spread) and which part of its wealth it
// stakes on that; then it looks and learns.
//
//   median         ln median of the last 8; spread 0.11 sqrt(1 + 0.5 / min(i, 8)); stakes 0.9; from the 2nd interval
//   pace           a mean with forgetting 0.85; spread learnt from 0.13; from the 2nd
//   every second   ln median of the last 3 of the same phase of two; spread learnt from 0.07; from the 3rd
//   every third    the same for three; from the 4th
//   neighbours     ln median of what followed the 3 most similar pasts of two; spread 0.07; stakes 0.9; from the 4th
//   mode           fullest window of 0.2 among the last 12; spread learnt from 0.07; stakes its share; from the 3rd
//   known          what earlier sessions taught about this athlete (known_athlete.hpp); from the 1st
//
// The figures above are those of TempoMethod::plain; settings_of() has both.
//
// Owned by one TempoTest; one thread; fixed memory; cannot fail. Centres and spreads are of ln(seconds).
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <string_view>

#include "core/reading/history.hpp"

namespace breakstep::reading {

enum class Account : std::uint8_t { median, pace, every_second, every_third, neighbours, mode, known };
inline constexpr std::size_t account_count = 7;

/// `plain` pays the plain sum of its accounts and has the published golden values. `tight` says more, sooner, under the
/// same promise: it pays as much as the null allows (tight_bet.hpp), and its accounts pool phases which beat alike.
enum class TempoMethod : std::uint8_t { plain, tight };
/// "plain", "tight".
[[nodiscard]] std::string_view word(TempoMethod);

struct AccountSettings {
    std::array<double, account_count> priors;  ///< shares before scaling; `known` is filled in by known_athlete.hpp
    double median_spread;
    double pace_spread;  ///< prior spread of the pace account, as if seen `pace_count` times
    double pace_count;
    double pace_forgetting;
    double pooled;  ///< phases whose logarithms lie this close share one centre; 0: never
};
[[nodiscard]] const AccountSettings& settings_of(TempoMethod method);

struct Bet {
    bool has_centre = false;  ///< false: this account has no guess yet
    double centre = 0;
    double spread = 1;
    double fraction = 0;  ///< of its wealth, 0 .. 0.98
};
using Bets = std::array<Bet, account_count>;

class Accounts {
  public:
    explicit Accounts(TempoMethod method) : settings_(&settings_of(method)) {}

    /// What each account but `known` bets on the next interval, from the past alone.
    [[nodiscard]] Bets bets(const IntervalHistory& past) const;

    /// `placed` are the bets that bets() gave; `past` does not hold the new interval yet. An imputed interval moves
    /// centres, never spreads.
    void learn(const Bets& placed, const IntervalHistory& past, double logarithm, bool observed);

  private:
    struct Phase {
        double squares = 0;
        double count = 0;
    };
    [[nodiscard]] Bet median_bet(const IntervalHistory& past) const;
    [[nodiscard]] Bet pace_bet() const;
    [[nodiscard]] Bet phase_bet(const Phase& phase, const IntervalHistory& past, std::size_t period) const;
    static void learn_phase(Phase& phase, const Bet& placed, const IntervalHistory& past, std::size_t period,
                            double logarithm);

    const AccountSettings* settings_;
    double pace_mean_ = 0;
    double pace_weight_ = 0;
    double pace_squares_ = 0;
    double pace_count_ = 0;
    Phase second_;
    Phase third_;
};

}  // namespace breakstep::reading
