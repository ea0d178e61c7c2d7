// Lure: being predictable on purpose. The athlete sets a beat, the opponent follows it, and then the athlete strikes
// ahead of it. The two halves are scored apart: was the set readable, and how far ahead of the expected moment was the
// break?
//
// Pure; any thread; cannot fail. What counts as readable and as ahead is common practice, no source: a hunch (wealth 8)
// by the end of the set, and an entry before the announced window.
#pragma once

#include <optional>
#include <span>
#include <string>

#include "core/reading/tempo_test.hpp"
#include "core/reading/timeable_index.hpp"
#include "core/time.hpp"

namespace breakstep::reading {

struct LureScore {
    HitCount set;  ///< windows announced over the set: high is good here
    double set_wealth = 1;
    bool readable = false;             ///< the opponent had a beat to follow
    std::optional<Duration> expected;  ///< when the entry was expected, since the last one; nullopt without a window
    std::optional<Duration> ahead;     ///< how long before that moment the athlete entered; negative: after it
    bool broken = false;               ///< entered before the window began
    bool contact_in_lift = false;

    /// "the beat was set: 5 of 5 caught, luck 1; broken 0.32 s ahead, struck in the lift".
    [[nodiscard]] std::string words() const;
};

/// `set`: the intervals of the set half, oldest first. `last`: the interval that breaks it.
[[nodiscard]] LureScore score_lure(std::span<const Duration> set, Duration last, Duration shortest,
                                   bool contact_in_lift);

}  // namespace breakstep::reading
