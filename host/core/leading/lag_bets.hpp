// The bets on "enters a lag after the other acts": eight lags of 0.25 s to 0.90 s, each with two stakes, and what they
// gain if the other acted so and the interval ended then.
//
//   an act at u (seconds into the interval) works from y = u + 0.20 s on: nobody follows sooner. In its turn each act
//   multiplies by 1 - f + f x, where, with T the upper tail of Student's t with 9 degrees of freedom, z(R) = (ln R - ln
//   lag) / 0.18, R0 = T(z(0.20 s)), and density p and survival S of the own forecast:
//     the last act, R = D - u:                     x = [t9(z(R)) / (0.18 R R0)] / [p(D) / (D S(y))]
//     an earlier one, the next working from e on:  x = [T(z(e - u)) / R0] / [S(e) / S(y)]
//
// Each x has mean 1 if the interval has the law of the forecast. Pure; any thread; cannot fail. Seconds.
#pragma once

#include <array>
#include <cstddef>
#include <span>

#include "core/leading/own_forecast.hpp"

namespace breakstep::leading {

/// Nobody follows an act sooner than this.
inline constexpr double reaction_seconds = 0.20;

inline constexpr std::size_t lag_count = 8;
inline constexpr std::size_t stake_count = 2;
inline constexpr std::array<double, stake_count> stakes{0.45, 0.85};
inline constexpr std::size_t lag_account_count = lag_count * stake_count;

/// 0.25 s * 1.2^lag
[[nodiscard]] double lag_seconds(std::size_t lag);

/// By what each account is multiplied; the account of lag l and stake f is l * stake_count + f.
using Gains = std::array<double, lag_account_count>;

/// `acts` are seconds since the interval began, ascending; those that can't have worked before `interval` say nothing.
[[nodiscard]] Gains gains_of(std::span<const double> acts, double interval, const OwnForecast& own);

}  // namespace breakstep::leading
