// Between the integer nanoseconds that are kept and the seconds that estimators compute with. Pure; any thread.
#pragma once

#include <cmath>
#include <cstdint>

#include "core/time.hpp"

namespace breakstep::reading {

/// Correctly rounded: 820 ms gives the double nearest to 0.82.
[[nodiscard]] inline double seconds_from(Duration duration) { return static_cast<double>(duration.count()) / 1e9; }

/// To the nearest nanosecond; `seconds` lies within +-9e9 (285 years).
[[nodiscard]] inline Duration duration_from(double seconds) {
    return Duration(static_cast<std::int64_t>(std::llround(seconds * 1e9)));
}

}  // namespace breakstep::reading
