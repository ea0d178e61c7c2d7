// What drawing the attack, or knowing it by a pattern, is worth to an athlete (core/progress/gain.hpp), in words. Pure;
// any thread.
#pragma once

#include <string>
#include <string_view>

#include "core/progress/athlete_term.hpp"

namespace breakstep {

/// "more", "less", "no difference", "too few".
[[nodiscard]] std::string_view word(progress::Gains gains);
/// For the coach: "drawn: on time 34 of 50, the same at random moments 22 of 50: 24 points more (5 to 41)"; "" where
/// there is nothing of either.
[[nodiscard]] std::string gain_line(const progress::Gain& gain, const char* way);
/// For the athlete's page: one sentence for each way of which enough is known; a child hears of what helps, without
/// counts.
[[nodiscard]] std::string gain_words(const progress::AthleteTerm& term, bool child);

}  // namespace breakstep
