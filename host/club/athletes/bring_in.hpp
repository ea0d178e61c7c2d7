// Athletes and past results out of CSV files into the store: everything in a file is judged before anything is written,
// and goes in whole or not at all.
//
// Main thread; `store` is open for writing. Fails (bad_input) with the place of what can't be, else as the store does.
#pragma once

#include <string>
#include <vector>

#include "club/athletes/past_results.hpp"
#include "club/csv/csv.hpp"
#include "store/store.hpp"

namespace breakstep {

/// The athletes of a list (athlete_list_columns()), added; gives them back with their ids.
[[nodiscard]] Expected<std::vector<Athlete>> add_listed(Store& store, const CsvSheet& list);

/// What was brought in: values, the measures in order, the call-signs that the store did not know.
struct Imported {
    std::size_t values = 0;
    std::vector<std::string> measures, athletes_added;
};
[[nodiscard]] Expected<Imported> add_results(Store& store, const PastResults& results);

}  // namespace breakstep
