// Past results from a CSV table `athlete,date,measure,value`: any measure, one value a row. Pure; any thread.
#pragma once

#include <string>
#include <vector>

#include "app/commands/athletes/csv.hpp"
#include "store/store_rows.hpp"

namespace breakstep {

struct PastResult {
    std::string athlete;  ///< call-sign
    std::string measure, date;
    double value = 0;
    CsvCell from;  ///< of the measure, for messages
};

[[nodiscard]] const std::vector<CsvColumn>& past_result_columns();
/// Fails (bad_input) with line and column at the first cell that can't be used, and at a second value for one athlete,
/// date and measure.
[[nodiscard]] Expected<std::vector<PastResult>> past_results_from(const CsvSheet& sheet);

}  // namespace breakstep
