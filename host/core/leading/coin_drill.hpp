// The coin drill: exact for every rhythm, every partner and a common beat too. B wears a cue that only B notices. At
// random moments the rig throws a secret fair coin: 1 cues B to act, 0 does nothing; then it looks whether A enters in
// a window that was fixed beforehand. Who enters more often after cues is made to go by B: nothing else knows the coin.
//
//   z1 of n1 past trials with an entry, z0 of n0 without, had a coin of 1
//   q = entered ? max(.5, (z1 + 2) / (n1 + 3)) : min(.5, (z0 + 1) / (n0 + 3))      the guess that the coin was 1
//   W *= 2 (coin ? q : 1 - q);  "B makes A go" at W >= 20
//
// Promise: given all before and whether A entered, the coin is fair unless the cue reached A, so W is an exact
// martingale and reaches 20 in at most 1 of 20 drills (Ville 1939), whenever one looks.
//
// A value; owned by one drill; one thread; fixed memory; cannot fail.
#pragma once

#include <cstdint>

#include "core/time.hpp"

namespace breakstep::leading {

/// From the last trial's end to the next moment at least so long, then exponentially more.
inline constexpr Duration coin_wait_least = 1200ms;
/// Where A's entry counts, since the moment: B's reaction and the lag. A drill may fix another, beforehand.
inline constexpr Duration coin_window_from = 450ms;
inline constexpr Duration coin_window_to = 1200ms;

class CoinDrill {
  public:
    /// `cued`: the coin was 1. `entered`: A entered in the window.
    void add(bool cued, bool entered);

    [[nodiscard]] double log_wealth() const { return log_wealth_; }
    [[nodiscard]] double wealth() const;
    /// Has it ever reached 20?
    [[nodiscard]] bool makes_go() const { return told_at_ != 0; }
    /// The trial at which it did, from 1; 0: never.
    [[nodiscard]] std::uint64_t told_at() const { return told_at_; }
    [[nodiscard]] std::uint64_t trials() const { return after_cue_.of + after_nothing_.of; }

    struct Count {
        std::uint64_t entered = 0, of = 0;
    };
    [[nodiscard]] const Count& after_cue() const { return after_cue_; }
    [[nodiscard]] const Count& after_nothing() const { return after_nothing_; }

  private:
    Count after_cue_, after_nothing_;
    double log_wealth_ = 0;
    std::uint64_t told_at_ = 0;
};

}  // namespace breakstep::leading
