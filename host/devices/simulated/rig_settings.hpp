// What a simulated rig is made of, and what can be seen of it from outside the wire. Values; any thread.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "core/time.hpp"
#include "core/trade/vocabulary.hpp"
#include "devices/simulated/crystal_clock.hpp"
#include "wire/wire.h"

namespace breakstep {

/// How well a sensor is built. Stamps are late by up to `jitter`, and never by more than `bound`, which is declared.
struct SensorQuality {
    Duration jitter{}, bound{};
};

struct RigSettings {
    std::uint64_t seed = 1;
    std::uint64_t boot_salt = 0;                  ///< another one gives other boot ids, as each run of a real rig has
    std::uint64_t board = 0xb12d'5a17'0000'0001;  ///< 1 or more
    CrystalClockSettings clock;
    std::vector<PadRole> pads{PadRole::high_left, PadRole::high_right, PadRole::low_left, PadRole::low_right};
    std::vector<GateRole> gates{GateRole::near_mark,   GateRole::far_mark, GateRole::back_mark,
                                GateRole::attack_line, GateRole::low,      GateRole::hip};
    std::vector<LampRole> lamps{LampRole::foot, LampRole::hip, LampRole::head, LampRole::ready};
    bool sync = true;
    std::size_t ring = 64;            ///< events kept until acknowledged; PROTOCOL.md asks for 32 at least
    std::size_t lamp_orders = 32;     ///< waiting; 16 at least
    Duration byte_time = 20us;        ///< of its serial line; 0 on a pty
    Duration boot_time = 300ms;       ///< from a reset to the first hello; it hears nothing meanwhile
    SensorQuality pad{110us, 150us};  ///< a piezo's rise and four conversions in turn
    SensorQuality gate{12us, 20us};   ///< an external interrupt
    double crosstalk = 0.22;          ///< the most of a blow that reaches another pad, 0 .. 1
    double bounce = 0.35;             ///< share of gate edges that flicker once or more within 1 ms
    std::uint8_t version_major = WIRE_VERSION_MAJOR, version_minor = WIRE_VERSION_MINOR;
};

/// The lamps as they are from `at` on: bit i is LampRole i.
struct LampChange {
    HostTime at;
    std::uint8_t lit = 0;
};

/// What ails the lamps: orders are accepted as ever, but carried out so late, or never and in silence.
struct LampAilment {
    bool silent = false;
    Duration late{};
};

/// An acknowledgement as the rig understood it: everything of its boot up to `through` may be forgotten.
struct RigReleased {
    HostTime at;
    BootId boot{};
    std::uint16_t through = 0;
};

/// An event as the rig numbered it, with the true time of what it stamped: for tests that compare with the truth.
struct RigTruth {
    HostTime at;
    BootId boot{};
    wire_message event;
};

}  // namespace breakstep
