// What an athlete's page says of their rhythm and choices. Internal to this folder.
//
// Main thread. Fails as the store's reading functions do.
#pragma once

#include <vector>

#include "club/pages/shelf.hpp"
#include "core/progress/athlete_term.hpp"
#include "report/pages/athlete_page.hpp"

namespace breakstep {

using ShelvedSessions = std::vector<const ShelvedSession*>;

/// The first and the last three evenings, or all of them while there are fewer than six; nothing without a step-in
/// read.
[[nodiscard]] Expected<void> add_rhythm(pages::AthletePage& page, const Shelf& shelf, const ShelvedSessions& sessions,
                                        const progress::AthleteTerm& term);
/// Being caught is the coach's to tell a child in figures; how to change it is said under "Next".
void keep_the_word(std::vector<pages::RhythmPeriod>& periods);
/// What the choices gave away, over the last three evenings in which any drill could tell. A promise of its own, with
/// its own count: a child's page has the word without the reason.
[[nodiscard]] Expected<void> add_read(pages::AthletePage& page, const Shelf& shelf, const ShelvedSessions& sessions,
                                      bool child);

}  // namespace breakstep
