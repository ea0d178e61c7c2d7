// Past results out of a CSV file: judged row by row before anything is stored, and kept small: a million rows in 24 MB
// beside the file's text. Pure; any thread.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "club/csv/csv.hpp"

namespace breakstep {

struct PastResult {
    std::uint32_t athlete = 0, measure = 0;  ///< places in the lists of names
    std::int32_t day = 0;                    ///< since 1970-01-01
    std::uint32_t line = 0;                  ///< where it stands
    double value = 0;
};

struct PastResults {
    std::vector<std::string> athletes;  ///< each once, as it is written first (call_sign.hpp says when two are one)
    std::vector<std::string> measures;
    std::vector<PastResult> results;  ///< in the file's order
    CsvSheet sheet;                   ///< without rows: for telling places
    std::size_t measure_column = 0;

    [[nodiscard]] std::string date_of(const PastResult& result) const;
    /// "the store has ... already", at the result's place.
    [[nodiscard]] Error error_at(const PastResult& result, const std::string& what, const std::string& to_do) const;
};

/// Columns athlete, date, measure, value, in any order. Fails (bad_input) with line and column: an athlete or a measure
/// that can't be, a date that is none of the calendar, a value that is no number, a value that stands there twice.
[[nodiscard]] Expected<PastResults> past_results_from(std::string_view text, const std::string& file);

}  // namespace breakstep
