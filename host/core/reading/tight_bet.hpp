// The tight bet: as large as the null allows, and never larger than a tell still needs.
//
// The plain method pays 1 - f + f p / h for each account: safe because the mean of p / h is at most the integral of p.
// Two things are given away there. First, an athlete whose next interval has a density of at most h still has only
// one interval: the worst case fills the best-paid places up to a total probability of 1 and no more, so whatever is
// paid beyond that is free. Second, a wealth beyond 20 tells no more than 20 does: what would be paid beyond it is
// better spent on making the payoff wider.
//
// So ln D is cut into bins. In bin b the athlete's probability is at most H_b, the exact integral of h over it (and at
// most 1 in all). The payoffs wanted there, v_b = max(k, k a + q_b / h_b), are scaled and capped: R_b = min(cap, z
// v_b), with z as large as
//     sum over bins, best paid first, of min(H_b, what is left of 1) R_b + what is left z k  =  1
// allows. That sum is the greatest mean that any law of the null can reach (a linear functional over densities between
// 0 and h is largest when the best-paid places are filled first), so the mean multiplier is at most 1 and Ville's
// inequality holds as before. After a cue at u, fixed beforehand, the interval is only known to be longer: the
// multiplier M for that solves the same equation over the bins up to u, with all that lies beyond paid M.
//
// Owned by one TempoTest; one thread; fixed memory; cannot fail. Logarithms are of seconds.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>

namespace breakstep::reading {

class TightBet {
  public:
    static constexpr std::size_t bins = 128;
    using Densities = std::array<double, bins>;

    /// Lays the bins over ln D from `shortest` (in seconds) to at least `high`.
    void lay(double shortest, double high);
    /// The bin of ln D = `logarithm`, the nearest one if it lies outside.
    [[nodiscard]] std::size_t bin_at(double logarithm) const;
    [[nodiscard]] double middle(std::size_t bin) const { return low_ + width_ * (static_cast<double>(bin) + 0.5); }

    /// Fixes the payoffs. `wanted`: density that is bet, q at each bin's middle (their integral is 1 - `idle`); `idle`:
    /// the part of the wealth that is not bet, above 0; `most`: the largest multiplier that is of use, above 1.
    void place(const Densities& wanted, double idle, double most);

    /// What an entry at ln D = `logarithm` pays.
    [[nodiscard]] double multiplier(double logarithm) const;
    /// What a cue at ln u = `logarithm` pays, the entry being later.
    [[nodiscard]] double multiplier_beyond(double logarithm) const;

  private:
    double laid_for_ = 0;  // the shortest interval that the bins were laid for
    double low_ = 0;
    double width_ = 0;
    double floor_ = 1;                         // paid where nothing is bet
    Densities mass_{};                         // H_b; 0 where h has no bound, and nothing is bet there
    Densities payoff_{};                       // R_b
    std::array<std::uint16_t, bins> order_{};  // bins, best paid first
    std::size_t ordered_ = 0;                  // those paid more than the floor
};

}  // namespace breakstep::reading
