// Invented athletes for measuring the tempo test: families of intervals with a known law. Unpredictable ones show how
// often the test cries wolf, timeable ones how soon it speaks. Intervals in seconds, at least 0.25; Gaussian noise
// where nothing else is said; one seed, one sequence. Values; any thread; cannot fail.
#pragma once

#include <array>
#include <cstdint>
#include <string_view>

#include "core/random.hpp"

namespace breakstep::reading {

enum class Family : std::uint8_t {
    // unpredictable, inside the null
    exponential_short,   ///< 0.4 + Exp(mean 0.3)
    exponential_middle,  ///< 0.4 + Exp(mean 0.8)
    exponential_long,    ///< 0.4 + Exp(mean 2)
    lognormal_50,        ///< mean 1.2 s, CV 50 %
    gamma_2,             ///< shape 2, mean 1.2 s: its log density stays under the bound
    gamma_4,             ///< shape 4, mean 1.2 s: CV 50 %, close to the bound (0.781 of 0.845)
    wandering,           ///< lognormal of CV 50 % whose mean wanders by 20 % an interval
    // outside it, yet hardly timeable
    uniform,  ///< 0.4 .. 2.0 s
    shift_5,  ///< 0.5 + Exp(mean 0.8), more rest than the shortest interval allows for
    // timeable
    metronome_10,  ///< 0.9 s, CV 10 %
    human_15,      ///< Wing & Kristofferson 1973: 0.9 s, CV 15 %, lag-1 correlation -0.3
    human_20,
    long_short,   ///< 0.7 / 1.3 s, CV 7 %, random phase
    three_beat,   ///< 0.6 / 0.6 / 1.4 s, CV 7 %, random phase
    one_beat_60,  ///< 60 %: 0.8 s, CV 6 %; else 0.4 + Exp(mean 0.9)
    gamma_20,     ///< mean 1 s
    gamma_50,
    fixed_in_time,   ///< time inside the near mark: 0.4 s, CV 10 %
    free_then_beat,  ///< twelve entries 0.4 + Exp(mean 0.8), then 0.9 s, CV 6 %
    // timeable, and never looked at while the methods were chosen
    slow_metronome,    ///< 1.3 s, CV 12 %
    quick_long_short,  ///< 0.55 / 0.95 s, CV 9 %, random phase
    four_beat,         ///< 0.6 / 0.6 / 0.6 / 1.5 s, CV 7 %, random phase
    drifting_beat,     ///< 0.7 s, slower by 2 % an entry, CV 9 %
};

enum class Truth : std::uint8_t { unpredictable, outside, timeable };

struct FamilyDescription {
    Family family;
    Truth truth;
    std::string_view words;
};
inline constexpr std::size_t family_count = 23;
[[nodiscard]] const std::array<FamilyDescription, family_count>& families();

/// One drill of one invented athlete.
class InventedAthlete {
  public:
    InventedAthlete(Family family, std::uint64_t seed, std::uint64_t drill);
    /// The next interval in seconds.
    [[nodiscard]] double next();
    [[nodiscard]] Random& random() { return random_; }

  private:
    [[nodiscard]] double draw();
    [[nodiscard]] double around(double mean, double variation) { return mean * (1.0 + variation * random_.normal()); }
    [[nodiscard]] double human(double mean, double variation);
    [[nodiscard]] double gamma(double shape);  // of scale 1

    Family family_;
    Random random_;
    std::uint32_t phase_;
    std::uint64_t drawn_ = 0;
    double wandered_ = 1.2;  // the mean of `wandering`, seconds
    double last_delay_ = 0;  // Wing & Kristofferson's motor delay of the last entry, in standard deviations
};

}  // namespace breakstep::reading
