// How practice goes: fast at first, then less and less (Heathcote, Brown & Mewhort 2000: one person's curve is
// exponential; power laws come from averaging people).
//
//   value(N) = final + gain exp(-rate N), N counted in sessions or reps
//
// Pure; any thread.
#pragma once

#include <optional>
#include <span>

namespace breakstep::progress {

struct LearningCurve {
    double final = 0;  ///< where practice leads
    double gain = 0;   ///< value at N = 0 less final; below 0 for a measure that rises
    double rate = 0;   ///< per unit of N, above 0

    [[nodiscard]] double at(double practice) const;
};

struct FittedCurve {
    LearningCurve curve;
    double residual = 0;  ///< standard deviation about the curve, three parameters taken off
    /// The best curve bends so little, or so early, that its rate is not known from these values: final is then a
    /// guess far outside them, and is not to be shown.
    bool rate_unknown = false;
};
/// Least squares. nullopt under five values, for lengths that differ and where all N are the same.
[[nodiscard]] std::optional<FittedCurve> fit_learning_curve(std::span<const double> practice,
                                                            std::span<const double> values);

}  // namespace breakstep::progress
