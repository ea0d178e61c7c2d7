// Figures of reaction time as the science keeps them, for reports that compare with published norms.
//
// Pure; any thread. Latencies in milliseconds, since these are estimators. Nothing here judges an athlete: a pad
// contact is a reaction and a movement, and the false start rule belongs to the first movement in pure reaction drills
// alone.
#pragma once

#include <cstdint>
#include <optional>
#include <span>

namespace breakstep {

/// Under it the movement began before any reaction could have (athletics, technical rule 16.6).
inline constexpr double false_start_ms = 100;
/// From it on attention lapsed (psychomotor vigilance task: Dinges & Powell 1985; Basner & Dinges 2011; from memory).
inline constexpr double lapse_ms = 500;

/// False starts are counted and left out of all the rest.
struct ReactionFigures {
    std::int32_t false_starts = 0;
    std::int32_t lapses = 0;
    std::int32_t valid = 0;
    std::optional<double> mean_ms, median_ms;  ///< null without a valid one
    std::optional<double> speed_per_s;         ///< mean of 1 / reaction time
};
[[nodiscard]] ReactionFigures reaction_figures(std::span<const double> latencies_ms);

/// A normal plus an exponential: what reaction times look like (mu, sigma of the normal, tau of the exponential, all in
/// ms; sigma and tau above 0).
struct ExGaussian {
    double mu = 0, sigma = 1, tau = 1;

    [[nodiscard]] double mean() const { return mu + tau; }
    [[nodiscard]] double standard_deviation() const;
    [[nodiscard]] double skewness() const;
    [[nodiscard]] double cumulative(double latency_ms) const;
    [[nodiscard]] double median() const;
};

/// P(wait <= `waited`) of a wait of `minimum` plus an exponential of mean `extra`, in seconds.
[[nodiscard]] double wait_cumulative(double minimum, double extra, double waited);
/// The wait that a share `share` (0 .. 1) of such waits stay under.
[[nodiscard]] double wait_quantile(double minimum, double extra, double share);
/// How likely a uniform wait in [low, high) is to end in the next instant, per second, given that it lasted `waited`:
/// it grows without bound, which is why such waits "age" and can be guessed. An exponential's stays at 1 / mean.
[[nodiscard]] double uniform_wait_hazard(double low, double high, double waited);

}  // namespace breakstep
