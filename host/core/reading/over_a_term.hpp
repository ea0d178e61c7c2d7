// Signs over many drills of one athlete, and over many athletes: a second promise, apart from each drill's own.
//
// Tells over drills: a mixture over the drill from which the habit began (Z = (Z + pi_k) W_k with pi_k = 1 / (k (k +
// 1)), total = Z + 1 / (k + 1)), with each drill's wealth at its end and no drill left out; 20 is a tell (Ville 1939).
// Lists over athletes: e-BH (Wang & Ramdas 2022), which keeps the expected share of wrong names at most 5 %. Values,
// any thread; one TermTell per athlete; cannot fail.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace breakstep::reading {

class TermTell {
  public:
    /// The next drill in time order ended with `wealth` (at least 0).
    void drill_ended(double wealth);
    [[nodiscard]] double total() const;
    [[nodiscard]] std::uint64_t drills() const { return drills_; }
    /// The drill (from 1) at which the total first reached 20; 0 if it did not.
    [[nodiscard]] std::uint64_t told_at() const { return told_at_; }

  private:
    double running_ = 0;
    std::uint64_t drills_ = 0;
    std::uint64_t told_at_ = 0;
};

/// Indices of the athletes to name, greatest wealth first: the k largest, for the greatest k whose k-th wealth is at
/// least m / (rate k) among m athletes.
[[nodiscard]] std::vector<std::size_t> named_by_e_bh(std::span<const double> wealths, double rate = 0.05);

}  // namespace breakstep::reading
