// Invented bouts of two, for measuring who-leads-whom: how often it claims what is not so, and how soon it speaks. Each
// person has an own rhythm; B may also react to A's entries, or time them; A may follow B. The same seed gives the same
// bouts. Intervals are at least 0.25 s; Gaussian noise where nothing else is said. Pure; any thread; cannot fail.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <string_view>
#include <vector>

#include "core/leading/who_leads.hpp"
#include "core/random.hpp"

namespace breakstep::leading {

struct Rhythm {
    enum class Law : std::uint8_t {
        memoryless,   ///< `mean` is of what comes after `shift`
        metronome,    ///< `mean`, `variation`
        clock_motor,  ///< Wing & Kristofferson 1973, lag-1 correlation -0.3
        lognormal,    ///< `mean`, `variation`
        gamma_10,     ///< shape 10, `mean`
        uniform,      ///< `shift` to `mean`
        one_beat_60,  ///< 60 %: 0.8 s, CV 6 %; else 0.4 + Exp(0.9)
        long_short,   ///< 0.7 / 1.3 s, `variation`, random phase
    };
    Law law = Law::memoryless;
    double mean = 0.8;
    double variation = 0;
    double shift = 0.4;
};

struct BoutKind {
    enum class Other : std::uint8_t { own_rhythm, reacts, times };
    std::string_view words;
    Rhythm a;
    Rhythm b{Rhythm::Law::memoryless, 0.9, 0, 0.3};
    Other other =
        Other::own_rhythm;  ///< what B does: its own; acts `b.mean` after each entry of A; or so long before it
    double follows = 0;     ///< the share of B's acts that A follows, unless one is being followed
    double lag = 0.45;      ///< by how much: lognormal of this mean and CV lag_variation; at least 0.05
    double lag_variation = 0.20;
    double common_pace = 0;  ///< standard deviation of the logarithm of a pace both share (AR .9 an act)
};

/// Nobody leads in these. The last ones are outside the promise: one common beat.
[[nodiscard]] std::span<const BoutKind> leaderless();
inline constexpr std::size_t outside_the_promise = 2;  ///< so many at the end

inline constexpr std::array<std::uint64_t, 3> act_looks{20, 40, 80};

/// What the two do, one after the other.
struct BoutAct {
    Who who{};
    double at = 0;  ///< s
};
/// Of one bout, up to A's first entry after 80 acts of B; the same bout of the same seed as figures_of().
[[nodiscard]] std::vector<BoutAct> acts_of(const BoutKind& kind, std::uint64_t seed, std::uint32_t bout);

/// What comes of one bout.
struct BoutOutcome {
    bool own_rhythm = false, luck = false, wrong_way = false;
    std::array<bool, act_looks.size()> tell{}, hunch{};
    bool operator==(const BoutOutcome&) const = default;
};
[[nodiscard]] BoutOutcome outcome_of(std::span<const BoutAct> acts);

struct BoutFigures {
    double own_rhythm = 0, luck = 0;                       ///< E ever >= 40; X ever >= 20, by 80 acts of B
    std::array<double, act_looks.size()> tell{}, hunch{};  ///< that A follows B, by so many acts of B
    double wrong_way = 0;                                  ///< "B follows A" told, by 80 acts of B
};
[[nodiscard]] BoutFigures figures_of(const BoutKind& kind, std::uint32_t bouts, std::uint64_t seed);

}  // namespace breakstep::leading
