// Tables in CSV files: read with the place of every cell (in the dialect of club/csv/cells.hpp), so that a mistake can
// be named by line and column; written so that no spreadsheet takes a text for a formula. Pure but for read_file(); any
// thread.
#pragma once

#include <cstddef>
#include <functional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "club/csv/cells.hpp"
#include "core/error.hpp"

namespace breakstep {

struct CsvColumn {
    std::string_view name;
    bool required = true;
};

/// The rows below the header, each with its cells in the order of the columns that were asked for; a column that the
/// file has not gives empty cells with column 0.
struct CsvSheet {
    std::string file;
    std::vector<std::string> header;  ///< the file's columns, in its order
    std::vector<std::vector<CsvCell>> rows;

    /// "past.csv, line 3, column 2 (date): WHAT"
    [[nodiscard]] Error error_at(const CsvCell& cell, const std::string& what, const std::string& to_do) const;
};

/// Fails (bad_input) with line and column: a column missing, doubled or unknown, a row with a cell too few or too many,
/// a quote that is not closed, bytes that are not UTF-8.
[[nodiscard]] Expected<CsvSheet> parse_csv(std::string_view text, const std::string& file,
                                           std::span<const CsvColumn> columns);
/// The same row by row, for long files: `row` is given the cells and the sheet (whose `rows` stay empty) to tell places
/// with, and may refuse.
using CsvRow = std::vector<CsvCell>;
[[nodiscard]] Expected<void> read_csv(std::string_view text, const std::string& file,
                                      std::span<const CsvColumn> columns,
                                      const std::function<Expected<void>(const CsvSheet& sheet, CsvRow& row)>& each);
/// "-" reads stdin. Fails (not_found, system), or as bad_input above 64 MiB.
[[nodiscard]] Expected<std::string> read_file(const std::string& path);

/// Quoted where it must be.
[[nodiscard]] std::string csv_cell(std::string_view text);
/// With an apostrophe before what a spreadsheet would take for a formula (= + - @ and tabs, line ends at the front),
/// and before apostrophes before that, so that plain_text() gives back every text.
[[nodiscard]] std::string harmless_text(std::string_view text);
[[nodiscard]] std::string plain_text(std::string_view text);

/// Without spaces at both ends.
[[nodiscard]] std::string trimmed(std::string_view text);
/// ASCII letters in lower case.
[[nodiscard]] std::string folded(std::string_view text);

}  // namespace breakstep
