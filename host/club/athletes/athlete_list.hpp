// The list of athletes as a CSV table, out and in: one row an athlete. Pure; any thread.
#pragma once

#include <iosfwd>
#include <string_view>
#include <vector>

#include "club/csv/csv.hpp"
#include "store/store_rows.hpp"

namespace breakstep {

/// The columns in their order; only the first is required.
[[nodiscard]] const std::vector<CsvColumn>& athlete_list_columns();
/// Without `with_names` real names and notes stay at home: their columns are left out.
void write_athlete_list(std::ostream& out, const std::vector<Athlete>& athletes, bool with_names);
/// Athletes without ids. Fails (bad_input) with line and column: what can't be, can't be so `today` (an ISO date), and
/// call-signs that are there twice (letter case aside) in the list or among `known`.
[[nodiscard]] Expected<std::vector<Athlete>> athletes_from(const CsvSheet& sheet, const std::vector<Athlete>& known,
                                                           std::string_view today);

}  // namespace breakstep
