// The rig's 48-bit ticks of half a microsecond, unwrapped to 64-bit nanoseconds. Part of the link; a value.
#pragma once

#include <cstdint>

#include "core/time.hpp"
#include "wire/wire.h"

namespace breakstep {

class TickUnwrapper {
  public:
    /// `boot`'s times follow; the first is taken as it is.
    void begin(BootId boot) {
        boot_ = boot;
        newest_ = 0;
        started_ = false;
    }

    /// `ticks` lies within 2^47 (2.2 years) of the newest time so far.
    [[nodiscard]] TargetTime unwrap(std::uint64_t ticks) {
        const std::int64_t whole = started_ ? newest_ + difference(ticks) : static_cast<std::int64_t>(ticks & mask);
        // No rig runs for a century: rather than overflow, take a nonsensical time as it stands.
        const std::int64_t sane = whole > ticks_max ? static_cast<std::int64_t>(ticks & mask) : whole;
        if (!started_ || sane > newest_) newest_ = sane;
        started_ = true;
        return {boot_, Duration{sane * WIRE_TICK_NS}};
    }

  private:
    static constexpr std::uint64_t mask = (std::uint64_t{1} << 48U) - 1;
    static constexpr std::int64_t ticks_max = std::int64_t{1} << 52U;

    /// From the newest time to `ticks`, the short way around 48 bits.
    [[nodiscard]] std::int64_t difference(std::uint64_t ticks) const {
        const std::uint64_t ahead = (ticks - static_cast<std::uint64_t>(newest_)) & mask;
        return ahead <= mask / 2 ? static_cast<std::int64_t>(ahead)
                                 : static_cast<std::int64_t>(ahead) - static_cast<std::int64_t>(mask) - 1;
    }

    BootId boot_{};
    std::int64_t newest_ = 0;
    bool started_ = false;
};

/// A time as the wire carries it.
[[nodiscard]] inline std::uint64_t ticks_from(TargetTime time) {
    return static_cast<std::uint64_t>(time.since_boot().count() / WIRE_TICK_NS) & ((std::uint64_t{1} << 48U) - 1);
}

}  // namespace breakstep
