// Pages of the invented club Saltmarsh Hall, for the README's pictures and for the tests: drawn with the code that
// draws the real ones, from invented figures. The same each time.
//
// Pure; any thread.
#pragma once

#include "report/pages/athlete_page.hpp"
#include "report/pages/evening_page.hpp"
#include "report/pages/group_page.hpp"

namespace breakstep::pages {

/// Heron, who improved over ten evenings, one of them missed.
[[nodiscard]] AthletePage invented_athlete_page();
[[nodiscard]] GroupPage invented_group_page();
[[nodiscard]] EveningPage invented_evening_page();

/// page-athlete.png, the same as a printer without colours prints it, page-group.png and page-evening.png.
[[nodiscard]] Expected<void> write_page_pictures(const std::string& directory);

}  // namespace breakstep::pages
