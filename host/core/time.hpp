// The clocks, as types. Subtracting across clocks does not compile; subtracting across boots of the rig stops the
// program, since such a difference means nothing (ask same_boot() first).
//
// All durations are integer nanoseconds. `double` seconds appear only inside estimators. Pure values, any thread.
#pragma once

#include <chrono>
#include <compare>
#include <cstdint>
#include <ratio>

#include "core/error.hpp"

namespace breakstep {

using Duration = std::chrono::nanoseconds;
using std::chrono_literals::operator""ns;
using std::chrono_literals::operator""us;
using std::chrono_literals::operator""ms;
using std::chrono_literals::operator""s;

/// The computer's monotonic clock. Its epoch is arbitrary; only the drivers read it, the folds are handed it.
struct HostClock {
    using rep = std::int64_t;
    using period = std::nano;
    using duration = Duration;
    using time_point = std::chrono::time_point<HostClock>;
    static constexpr bool is_steady = true;
};
using HostTime = HostClock::time_point;

/// One run of the rig's clock, from power-on or reset to the next. The number is the rig's own (random at each boot).
enum class BootId : std::uint32_t {};

/// A moment by the rig's clock, unwrapped to 64 bits, in ns since that boot.
class TargetTime {
  public:
    constexpr TargetTime() = default;
    constexpr TargetTime(BootId boot, Duration since_boot) : boot_(boot), since_boot_(since_boot) {}

    [[nodiscard]] constexpr BootId boot() const { return boot_; }
    [[nodiscard]] constexpr Duration since_boot() const { return since_boot_; }
    [[nodiscard]] constexpr bool same_boot(TargetTime other) const { return boot_ == other.boot_; }

    constexpr TargetTime operator+(Duration d) const { return {boot_, since_boot_ + d}; }
    constexpr TargetTime operator-(Duration d) const { return {boot_, since_boot_ - d}; }
    constexpr Duration operator-(TargetTime other) const {
        require_same_boot(other);
        return since_boot_ - other.since_boot_;
    }
    constexpr std::strong_ordering operator<=>(TargetTime other) const {
        require_same_boot(other);
        return since_boot_.count() <=> other.since_boot_.count();
    }
    /// Equality may be asked across boots: two boots are never the same moment.
    constexpr bool operator==(const TargetTime&) const = default;

  private:
    constexpr void require_same_boot(TargetTime other) const {
        if (boot_ != other.boot_) broken_invariant("two times of different boots of the rig were compared");
    }

    BootId boot_{};
    Duration since_boot_{};
};

/// A frame of the sound device's own stream, counted from 0 when the device was opened. 48,000 a second.
enum class AudioFrame : std::int64_t {};
inline constexpr std::int64_t audio_frames_per_second = 48'000;

/// The half-width that holds the truth 99 times in 100. `unknown_uncertainty` says that nobody measured it: an
/// uncalibrated sound or screen.
using Uncertainty = Duration;
inline constexpr Uncertainty unknown_uncertainty{-1};

}  // namespace breakstep
