// Whole bouts of two at the simulated rig, for measuring what is said of who makes whom go: what an athlete and a
// partner do passes the gates as bodies would, and goes through bytes, link, conduct and score. Kept nowhere.
//
// Bodies need time: a step in past the near mark and out again, or out past the far mark and back, takes half a second,
// and what is wanted sooner comes as soon as it can. Everything that is played is told back as it truly came.
//
// One owner, one thread. Fails as the fast driver does.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <vector>

#include "core/leading/simulated_bouts.hpp"
#include "core/score/exchange.hpp"
#include "tools/virtual_rig.hpp"

namespace breakstep {

struct PlayedBout {
    scoring::Exchange exchange;          ///< as score had it at the end
    std::vector<leading::BoutAct> acts;  ///< as the bodies could: A's entries and B's toe-offs, in order
    std::uint64_t entries_missed = 0, lifts_missed = 0;  ///< that no gate told
};

/// A partner who kicks in a free exchange, and an athlete who steps in and gives ground at no rhythm.
struct Kicker {
    int at_retreat = 0;  ///< springs after so many retreats since its last kick; 0: at its own pace
    double share = 1, lag = 0.45, variation = 0.15;
    double shift = 1.2, mean = 2.5;          ///< own pace, s
    double beat = 0, beat_variation = 0.10;  ///< else on a beat of so many s
};

/// The athlete of a coin drill: steps in after so many of the partner's kicks, and in about a quarter of all windows
/// anyway.
struct CoinFollower {
    double follows = 0;
    double lag = 0.45, variation = 0.20;
};

/// The same bout as bodies can do it: when each act comes, without a rig.
[[nodiscard]] std::vector<leading::BoutAct> as_bodies_can(std::span<const leading::BoutAct> acts);

class ExchangeBouts {
  public:
    ExchangeBouts(const Drill& free, const Drill& coin, std::uint64_t seed);

    /// A free exchange of one round that is as long as the acts.
    [[nodiscard]] Expected<PlayedBout> play(std::span<const leading::BoutAct> acts, std::uint64_t seed);
    /// Three rounds of a minute.
    [[nodiscard]] Expected<PlayedBout> play(const Kicker& kicker, std::uint64_t seed);
    [[nodiscard]] Expected<PlayedBout> play(const CoinFollower& follower, std::int32_t trials, std::uint64_t seed);

  private:
    class Bodies;
    class CoinAthlete;
    [[nodiscard]] Expected<PlayedBout> run(const Drill& drill, std::uint64_t seed, Bodies& bodies);
    void begin(const Drill& drill, std::uint64_t seed);

    Drill free_, coin_;
    VirtualRig rig_;
};

}  // namespace breakstep
