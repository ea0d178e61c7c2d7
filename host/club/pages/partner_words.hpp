// What sessions with a partner say beside their reps: who made whom go, for the coach's page of an evening; and what
// the one in the box does, for their own page: how often they do what they are told, how soon after the cue, what they
// kick with, what makes them kick, their tempo. Which leg it was no gate sees.
//
// Main thread. Fails as the store's reading functions do.
#pragma once

#include <string>
#include <vector>

#include "club/pages/shelf.hpp"

namespace breakstep {

/// "Curlew can make Heron go. Heron steps in ...", and what makes Curlew kick; nothing for a session that is no
/// exchange and no coin drill.
[[nodiscard]] Expected<std::vector<std::string>> exchange_of_session(const Shelf& shelf, const ShelvedSession& session,
                                                                     const std::vector<Athlete>& athletes,
                                                                     const std::string& athlete);
/// Of the sessions of these days in which this athlete was the partner; "" without one. A child's has no counts.
[[nodiscard]] Expected<std::string> partner_words(const Shelf& shelf, AthleteId partner, std::int32_t first_day,
                                                  std::int32_t last_day, bool child);

}  // namespace breakstep
