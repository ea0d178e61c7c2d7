// Numbers as a coach says them: "0.82 s", "six", "two retreats". Pure; any thread; English; cannot fail.
#pragma once

#include <cstdint>
#include <string>

namespace breakstep::reading {

/// "no" to "twelve" as a word, larger ones as digits.
[[nodiscard]] std::string count_word(std::uint64_t count);
/// Fixed decimals: decimals(0.8249, 2) is "0.82".
[[nodiscard]] std::string decimals(double value, int places);
/// "once", "twice", "six times".
[[nodiscard]] std::string times_word(std::uint64_t count);
/// A share in per cent, to the nearest whole.
[[nodiscard]] std::string percent(double share);

}  // namespace breakstep::reading
