// Invented athletes on a rung, for measuring its two promises and how soon it speaks: their rate scatters from evening
// to evening about a mean on the logit scale, and each rep is a throw at the evening's rate. The same seed gives the
// same athletes. Pure; any thread; allocates; cannot fail.
#pragma once

#include <cstdint>
#include <vector>

#include "core/ladder/rung.hpp"

namespace breakstep::ladder {

struct RungTrial {
    double mark = 0.5;             ///< the rung's
    double rate = 0.5;             ///< the athlete's mean rate, on the logit scale
    double evening_scatter = 0.3;  ///< standard deviation of the evening's rate on the logit scale
    std::uint32_t reps_an_evening = 30;
    std::uint32_t reps_at_most = 1200;
};

enum class Spoken : std::uint8_t { passed, step_down };

/// For each athlete the rep at which it was said; reps_at_most + 1 where it never was. `rung` must fit the mark.
[[nodiscard]] std::vector<std::uint32_t> reps_until(Spoken what, const RungTrial& trial, std::uint32_t athletes,
                                                    std::uint64_t seed);

/// The share of athletes to whom it was ever said, and its standard error (of a share no nearer to 0 or 1 than one
/// athlete).
struct Share {
    double value = 0;
    double standard_error = 0;
};
[[nodiscard]] Share share_of(const std::vector<std::uint32_t>& reps, std::uint32_t reps_at_most);

/// A quantile (the smallest value that at least the part `q` of them does not exceed), and its standard error by
/// bootstrap (Efron 1979; 200 samples with replacement).
struct Quantile {
    double value = 0;
    double standard_error = 0;
};
[[nodiscard]] Quantile quantile_of(const std::vector<std::uint32_t>& reps, double q, std::uint64_t seed);

}  // namespace breakstep::ladder
