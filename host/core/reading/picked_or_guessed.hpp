// Picked or guessed: does the athlete go on real attacks and hold on feints, or go on anything? Signal detection's d'
// with the log-linear correction of Hautus 1995.
//
//   h = (x + .5) / (n + 1) over attacks, f = (y + .5) / (m + 1) over feints, d' = z(h) - z(f),
//   interval d' +- 1.959964 sqrt(h (1 - h) / (n phi(z_h)^2) + f (1 - f) / (m phi(z_f)^2)).
//
// Pure; any thread; cannot fail but for empty counts.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

namespace breakstep::reading {

struct AnswerCount {
    std::uint64_t attacks = 0;
    std::uint64_t attacks_answered = 0;
    std::uint64_t feints = 0;
    std::uint64_t feints_answered = 0;
};

struct PickedOrGuessed {
    double d_prime = 0;
    double low = 0;
    double high = 0;
    bool at_least_only = false;  ///< every attack answered or no feint: only "at least `low`" may be shown

    /// "picked: answered 18 of 20 attacks, 2 of 10 feints", "guessed: ..." or "too few to tell picked from guessed:
    /// ...".
    [[nodiscard]] std::string words(const AnswerCount& count) const;
};

/// nullopt without attacks or without feints.
[[nodiscard]] std::optional<PickedOrGuessed> picked_or_guessed(const AnswerCount& count);

/// The quantile of the standard normal law; `share` in (0, 1).
[[nodiscard]] double normal_quantile(double share);

}  // namespace breakstep::reading
