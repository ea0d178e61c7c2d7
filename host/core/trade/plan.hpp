// The plan of a set: which attacks come, from which side, after which waits. Seeded; the athlete can't guess it and no
// contact or result moves it.
//
// Pure; owned by conduct. Waits are minimum + exponential, which do not age: having waited long says nothing about how
// long it still takes. A draw beyond the cap becomes a catch trial (an extra rep in which nothing comes), never a
// truncation, and the attack that was due comes after a fresh wait.
#pragma once

#include <cstdint>
#include <vector>

#include "core/random.hpp"
#include "core/trade/drill.hpp"

namespace breakstep {

struct PlannedAttack {
    bool catch_trial = false;  ///< no attack; `wait` is the drill's cap, `phases` is empty
    std::int32_t attack = 0;   ///< index into Drill::attacks (of a catch trial: the one that was due)
    Side lead = Side::right;
    Duration wait{};  ///< from the scheduled end of the attack before (or the set's begin) to toe-off
    std::vector<AttackPhase> phases;
    /// How long before toe-off the opponent leans; 0: it does not. Of a catch trial: it leans so long before the moment
    /// `lie_after` into its wait, and nothing follows.
    Duration telegraph{};
    Duration lie_after{};
    /// At the drill's own level whatever the level that follows, and counted for a rung: chosen here, before it starts.
    bool counts = false;

    [[nodiscard]] Duration length() const;
};

/// Attacks and sides balanced over a set. In training the order is shuffled in blocks of one or two rounds, at random,
/// so that nobody can count out what is left; `untidy` opponents draw each attack on its own. A test's set always holds
/// the same attacks, in one of eight fixed orders, at the mean lengths: only the waits and the order differ.
/// `pace` scales every length (1: as the drill says). `attempt` gives another draw for the same set (after a void).
/// An opponent with an order of its own (Drill::order) draws each attack after the one before it, the first as often as
/// it comes in the long run.
/// Gives `reps` attacks and the catch trials between them.
/// Of a drill whose level follows, sets after the first hold a secret third at the drill's own pace.
[[nodiscard]] std::vector<PlannedAttack> plan_set(const Drill& drill, std::uint64_t seed, std::int32_t set,
                                                  std::int32_t reps, double pace, std::int32_t attempt);

/// Of a drill that throws a coin for each set: which attack is asked for in this one; -1 in any other drill. Of two
/// sets in a row one asks for the first, the other for the second; the coin says which comes first.
[[nodiscard]] std::int32_t asked_in_set(const Drill& drill, std::uint64_t seed, std::int32_t set);

/// minimum + exponential of mean `extra`.
[[nodiscard]] Duration draw_wait(Duration minimum, Duration extra, Random& random);

}  // namespace breakstep
