// What the stacked lamps say: one code for each phase, so that a drill needs no screen and every border of a phase is a
// visible change with a confirmed time. One lamp: the leg, at the height where it counts. Foot alone means below the
// hip and open, whether it rises or falls; head means up; hip means on its way back. Pure; any thread.
#pragma once

#include <cstdint>

#include "core/trade/vocabulary.hpp"

namespace breakstep {

/// Bit i is LampRole i.
using LampSet = std::uint8_t;
[[nodiscard]] constexpr LampSet lamp_bit(LampRole role) {
    return static_cast<LampSet>(1U << static_cast<unsigned>(role));
}

/// Those that the athlete sees.
inline constexpr LampSet all_lamps = 0b1111;

[[nodiscard]] constexpr LampSet lamps_of(Phase phase) {
    switch (phase) {
        case Phase::lift:
        case Phase::drop:
            return lamp_bit(LampRole::foot);
        case Phase::up:
            return lamp_bit(LampRole::head);
        case Phase::pull_back:
            return lamp_bit(LampRole::hip);
        case Phase::hands:
            return lamp_bit(LampRole::hip) | lamp_bit(LampRole::head);
        case Phase::guard:
        case Phase::gap:
        case Phase::up_or_pull_back:
            return 0;
    }
    return 0;
}

/// In a loud hall what became of an attack, behind it: two lamps or three, of which no attack's phase is made.
inline constexpr LampSet good_lamps = lamp_bit(LampRole::foot) | lamp_bit(LampRole::hip) | lamp_bit(LampRole::head);
inline constexpr LampSet held_lamps = lamp_bit(LampRole::foot) | lamp_bit(LampRole::hip);
inline constexpr LampSet bad_lamps = lamp_bit(LampRole::foot) | lamp_bit(LampRole::head);

/// The count before a set: `lit` lamps of three (0 .. 3) from below, ready beside them so that no count looks like an
/// attack.
[[nodiscard]] constexpr LampSet count_lamps(int lit) {
    return static_cast<LampSet>(lamp_bit(LampRole::ready) | ((1U << static_cast<unsigned>(lit)) - 1U));
}

}  // namespace breakstep
