// The laws of the tempo test: what an unpredictable athlete may do at most, and the bell that an account bets.
//
// Unpredictable: each interval D between entries, given the past, is memoryless after a shift of at most r at any pace,
// or has a density of ln D of at most 0.845 (a lognormal whose coefficient of variation is 50 %), or is any hidden
// mixture of such. The density of ln D then never exceeds h(D) = max(0.845, D / (e (D - r))), without bound for D <= r:
// for a shifted exponential of mean 1/L, D L exp(-L (D - r)) is largest at L = 1 / (D - r), where it is D / (e (D -
// r)). So for any density p fixed before the interval the mean of p / h is at most 1.
//
// All functions are pure, take seconds, and accept any finite argument; any thread.
#pragma once

namespace breakstep::reading {

/// The shortest time in which an athlete can do the thing again, in seconds, where nothing better is known: leaving and
/// entering again, staying out, staying in.
inline constexpr double shortest_entry_seconds = 0.40;
inline constexpr double shortest_out_seconds = 0.15;
inline constexpr double shortest_in_seconds = 0.25;

/// Half the width of an announced window, in seconds: below simple reaction time.
inline constexpr double window_half_seconds = 0.15;

/// 1 / h(D), which is 0 for D <= r.
[[nodiscard]] double inverse_bound(double interval, double shortest);

/// Density of Student's t with 9 degrees of freedom.
[[nodiscard]] double t9_density(double z);
/// P(T > z) of the same, in closed form (Abramowitz & Stegun 26.7.3).
[[nodiscard]] double t9_above(double z);

/// The part of its wealth that an account stakes when the spread of its bell on ln D is `spread`: 0.98 up to 0.15,
/// falling to 0 at 0.40.
[[nodiscard]] double stake_for(double spread);

/// The chance that [from, to] holds the next entry of a memoryless athlete with shortest interval `shortest` and pace
/// (mean interval) `pace`.
[[nodiscard]] double chance_of(double from, double to, double pace, double shortest);

}  // namespace breakstep::reading
