// The opponent: how long each phase of an attack lasts, and the sequence of phases of each attack kind.
//
// Pure; any thread. Lengths are lognormal with the level's spread, redrawn until in range, so that the mean is only
// nearly the setting's where the range is tight.
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

#include "core/random.hpp"
#include "core/time.hpp"
#include "core/trade/vocabulary.hpp"

namespace breakstep {

enum class Level : std::uint8_t { beginner, intermediate, advanced };
[[nodiscard]] std::string_view word(Level);
template <>
[[nodiscard]] std::optional<Level> from_word<Level>(std::string_view text);

/// A phase's length: mean and the range it is redrawn into, all above zero, shortest <= mean <= longest.
struct LengthRange {
    Duration mean{}, shortest{}, longest{};
    template <class Archive>
    void fields(Archive& archive) {
        archive(mean, shortest, longest);
    }
    bool operator==(const LengthRange&) const = default;
};

/// Every length of an opponent; a default of ours loosely anchored in published kick times, every value a setting.
struct OpponentSettings {
    LengthRange lift, up, pull_back, drop, gap, carry, hands, feint;
    double spread = 0.10;  ///< coefficient of variation of each length, 0 .. 1
    bool untidy = false;   ///< mixes kinds with no pattern at a spread of 30 %: what real beginners are like
    template <class Archive>
    void fields(Archive& archive) {
        archive(lift, up, pull_back, drop, gap, carry, hands, feint, spread, untidy);
    }
    bool operator==(const OpponentSettings&) const = default;
};

[[nodiscard]] OpponentSettings opponent_defaults(Level level);

/// One phase of an attack. `held`: an up that is held (carry), the only time in which around counts.
struct AttackPhase {
    Phase phase{};
    bool held = false;
    Duration length{};
    template <class Archive>
    void fields(Archive& archive) {
        archive(phase, held, length);
    }
    bool operator==(const AttackPhase&) const = default;
};

/// One length: lognormal with that coefficient of variation, redrawn until in range.
[[nodiscard]] Duration draw_length(const LengthRange& range, double spread, Random& random);

/// single: lift, up, pull-back, drop, gap. rebound n: (pull-back, up) n times before the last pull-back. carry: a held
/// up first, then an up. reset: single twice. leg-to-hands: hands end the gap. feint: a lift throughout.
/// `rebounds` is 1 .. 4 for rebound and ignored for the others.
[[nodiscard]] std::vector<AttackPhase> draw_attack(const OpponentSettings& settings, AttackKind kind, int rebounds,
                                                   Random& random);

}  // namespace breakstep
