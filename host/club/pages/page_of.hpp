// From a term and its store to the values that the pages draw. Internal to this folder.
//
// Main thread. Fails as the store's reading functions do.
#pragma once

#include "club/pages/shelf.hpp"
#include "club/term/term.hpp"
#include "report/pages/athlete_page.hpp"
#include "report/pages/evening_page.hpp"
#include "report/pages/group_page.hpp"
#include "settings/next_file.hpp"

namespace breakstep {

/// `term` is null for an athlete without anything in these days: the page says so.
[[nodiscard]] Expected<pages::AthletePage> athlete_page_of(const Shelf& shelf, const Settings& settings,
                                                           const NextRules& rules, const Athlete& athlete,
                                                           const progress::AthleteTerm* term);
[[nodiscard]] pages::GroupPage group_page_of(const Shelf& shelf, const Settings& settings, const NextRules& rules,
                                             const Term& term);
/// Fails (not_found) without a session on that day. `term` says what comes next for whom; null: nothing is said of it.
[[nodiscard]] Expected<pages::EveningPage> evening_page_of(const Shelf& shelf, const Settings& settings,
                                                           const std::vector<Athlete>& athletes, std::int32_t day,
                                                           const NextRules* rules = nullptr,
                                                           const Term* term = nullptr);

/// "on time in the drop", or the imported measure's name.
[[nodiscard]] std::string measure_words(const progress::Followed& followed);

}  // namespace breakstep
