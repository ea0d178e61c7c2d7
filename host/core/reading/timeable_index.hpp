// Timeable, 0 to 100: how much better than chance an opponent who commits to a moment, without reacting, could hit the
// athlete's next entry. 0 is as good as memoryless at this pace, 100 a certain hit.
//
//   Timeable = 100 max(0, (H - C) / (n - C))
//
// H hits of one window announced before each entry, C the sum of their chances, n entries. The interval is Wilson's 95
// % interval of H / n (Wilson 1927) through the same formula. Pure values, any thread, cannot fail.
#pragma once

#include <cstdint>
#include <string>

#include "core/reading/running_sum.hpp"

namespace breakstep::reading {

/// The standard normal law holds 95 % within +- this.
inline constexpr double z_of_95 = 1.959963984540054;

struct Interval95 {
    double low = 0;
    double high = 1;
};

/// Wilson's interval of a share, 0 .. 1; `successes` <= `trials`; no trials give (0, 1).
[[nodiscard]] Interval95 wilson(std::uint64_t successes, std::uint64_t trials, double z = z_of_95);

/// H, C and n. They are pooled over drills by adding; indices are never averaged.
struct HitCount {
    std::uint64_t hits = 0;
    std::uint64_t scored = 0;
    double chance = 0;

    /// Enough to show: n >= 8, n - C >= 6 and C / n <= 0.65.
    [[nodiscard]] bool shown() const;
    /// 0 .. 100; 0 where n = C.
    [[nodiscard]] double timeable() const;
    [[nodiscard]] Interval95 timeable_interval() const;  ///< 0 .. 100
    /// Standard error of a pooled index: 110 sqrt(T (1 - T) / n) / (1 - C / n) with T = (H + 2) / (n + 4); 110 where
    /// n = 0 or C = n.
    [[nodiscard]] double standard_error() const;
    /// "7 of 10 caught, luck 2", or why it can't be said: "at this pace anyone is caught 7 of 10".
    [[nodiscard]] std::string words() const;

    HitCount& operator+=(const HitCount& other);
};

/// Counts windows as they are settled, without drift over a million entries.
class HitTally {
  public:
    void add(bool hit, double chance) {
        hits_ += hit ? 1 : 0;
        ++scored_;
        chance_.add(chance);
    }
    [[nodiscard]] HitCount count() const { return {hits_, scored_, chance_.value()}; }

  private:
    std::uint64_t hits_ = 0;
    std::uint64_t scored_ = 0;
    RunningSum chance_;
};

}  // namespace breakstep::reading
