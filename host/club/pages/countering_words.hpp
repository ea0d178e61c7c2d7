// What a page says of countering itself, over the term's drills: beats set and broken, and whether being first or being
// second suits the athlete. Words alone; "" where nothing was practised.
//
// Reads the shelf; the page's thread; fails as the store does.
#pragma once

#include <string>
#include <vector>

#include "club/pages/shelf.hpp"
#include "core/progress/athlete_term.hpp"

namespace breakstep {

/// "Of 16 beats you set 12 were followed, 9 of them broken." A child's has no counts.
[[nodiscard]] Expected<std::string> countering_words(const Shelf& shelf,
                                                     const std::vector<const ShelvedSession*>& sessions, bool child);

/// By the 95 % interval of the difference (Newcombe 1998, the hybrid score one). "" under `fewest` reps of either.
[[nodiscard]] std::string first_or_after_words(const progress::Share& first, const progress::Share& after);
inline constexpr std::uint64_t fewest_first_or_after = 15;
/// So many evenings of the drill stand behind an answer.
inline constexpr std::size_t evenings_first_or_after = 3;

}  // namespace breakstep
