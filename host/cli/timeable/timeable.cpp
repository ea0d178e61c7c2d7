#include "cli/timeable/timeable.hpp"

#include <cmath>
#include <fstream>
#include <iostream>

#include "cli/timeable/answer.hpp"
#include "cli/timeable/list_reading.hpp"
#include "cli/timeable/numbers.hpp"
#include "cli/timeable/options.hpp"
#include "cli/timeable/table.hpp"
#include "cli/timeable/whole_table.hpp"
#include "club/csv/cells.hpp"
#include "core/reading/seconds.hpp"
#include "files/reading.hpp"

namespace breakstep {
namespace timeable {
namespace {

using Cell = CsvCells::Cell;

enum class Column : std::uint8_t { time, interval, choice };

struct Header {
    Column column = Column::interval;
    std::uint64_t index = 0;  // of the column, from 1
    std::uint64_t columns = 0;
};

constexpr double longest_seconds = 1e9;  // what fits into nanoseconds with room to spare

Expected<Duration> interval_of(const CsvCells& reader, const Cell& cell, double seconds) {
    if (seconds <= 0)
        return failure(ErrorKind::bad_input,
                       reader.place(cell) + ": an interval of " + cell.text +
                           " s; from one step-in to the next it takes longer than nothing",
                       "take the line out, or correct it");
    if (seconds > longest_seconds || reading::duration_from(seconds) <= Duration{0})
        return failure(ErrorKind::bad_input,
                       reader.place(cell) + ": an interval of " + cell.text +
                           " s is out of range; it must lie between a nanosecond and 1e9 s",
                       "give intervals in seconds");
    return reading::duration_from(seconds);
}

Expected<std::uint8_t> symbol_of(const CsvCells& reader, const Cell& cell, const Options& options) {
    const auto value = number_from(reader, cell);
    if (!value) return tl::make_unexpected(value.error());
    const auto symbols = static_cast<double>(options.symbols);
    if (*value != std::floor(*value) || *value < 0 || *value >= symbols)
        return failure(
            ErrorKind::bad_input,
            reader.place(cell) + ": " + cell.text + " is not one of the choices 0 to " +
                std::to_string(options.symbols - 1),
            *value >= symbols ? "say how many there are with --symbols" : "choices are whole numbers from 0");
    return static_cast<std::uint8_t>(*value);
}

Expected<Header> read_header(CsvCells& reader) {
    Header header;
    for (;;) {
        const auto cell = reader.next();
        if (!cell) return tl::make_unexpected(cell.error());
        if (cell->ends_text)
            return failure(ErrorKind::bad_input, reader.name() + " is empty",
                           "its first line names the column: time_s, interval_s or choice");
        header.columns = cell->column;
        const bool known = cell->text == "time_s" || cell->text == "interval_s" || cell->text == "choice";
        if (known && header.index != 0)
            return failure(ErrorKind::bad_input,
                           reader.place(*cell) + ": a second column that could be read, " + cell->text,
                           "leave one of time_s, interval_s and choice");
        if (known) {
            header.index = cell->column;
            header.column = cell->text == "time_s"       ? Column::time
                            : cell->text == "interval_s" ? Column::interval
                                                         : Column::choice;
        }
        if (cell->ends_line) break;
    }
    if (header.index == 0)
        return failure(ErrorKind::bad_input,
                       reader.name() + ", line 1: no column is called time_s, interval_s or choice",
                       "name the column in the first line, or use --rows for drills without a header");
    return header;
}

/// The next value of the header's column; `ends_text` at the end. Empty lines may only stand at the end.
Expected<Cell> next_value(CsvCells& reader, const Header& header) {
    std::optional<Cell> value;
    std::uint64_t empty_line = 0;
    for (;;) {
        const auto cell = reader.next();
        if (!cell || cell->ends_text) return cell;
        if (cell->is_blank_line()) {
            if (empty_line == 0) empty_line = cell->line;
            continue;
        }
        if (empty_line != 0)
            return failure(ErrorKind::bad_input, reader.name() + ", line " + std::to_string(empty_line) + " is empty",
                           "take it out; a list has no gaps");
        if (cell->column > header.columns)
            return failure(ErrorKind::bad_input,
                           reader.place(*cell) + ": more columns than the header's " + std::to_string(header.columns),
                           "write decimals with a point: 0.82, not 0,82");
        if (cell->column == header.index) value = *cell;
        if (!cell->ends_line) continue;
        if (value) return *value;
        return failure(ErrorKind::bad_input,
                       reader.name() + ", line " + std::to_string(cell->line) + ": column " +
                           std::to_string(header.index) + " is missing",
                       "put a number there, or take the line out");
    }
}

/// Turns a column of times into intervals.
class Times {
  public:
    Expected<std::optional<Duration>> add(const CsvCells& reader, const Cell& cell, double seconds) {
        if (std::abs(seconds) > longest_seconds * 8)
            return failure(ErrorKind::bad_input, reader.place(cell) + ": the time " + cell.text + " s is out of range",
                           "give times in seconds");
        const Duration now = reading::duration_from(seconds);
        std::optional<Duration> interval;
        if (last_) {
            if (now <= *last_)
                return failure(
                    ErrorKind::bad_input,
                    reader.place(cell) + ": the time " + cell.text + " s " +
                        (now == *last_ ? "stands twice" : "comes before the one above it, " + last_text_ + " s"),
                    "entries come one after the other; sort the list, or correct it");
            interval = now - *last_;
        }
        last_ = now;
        last_text_ = cell.text;
        return interval;
    }

  private:
    std::optional<Duration> last_;
    std::string last_text_;
};

Expected<ListResult> read_intervals(CsvCells& reader, const Header& header, const Options& options,
                                    Description* description) {
    IntervalList list(options);
    Times times;
    std::uint64_t lines = 0;
    for (;; ++lines) {
        const auto cell = next_value(reader, header);
        if (!cell) return tl::make_unexpected(cell.error());
        if (cell->ends_text) break;
        const auto value = number_from(reader, *cell);
        if (!value) return tl::make_unexpected(value.error());
        std::optional<Duration> interval;
        if (header.column == Column::time) {
            const auto next = times.add(reader, *cell, *value);
            if (!next) return tl::make_unexpected(next.error());
            interval = *next;
        } else {
            const auto given = interval_of(reader, *cell, *value);
            if (!given) return tl::make_unexpected(given.error());
            interval = *given;
        }
        if (!interval) continue;
        list.add(*interval);
        if (description != nullptr && description->intervals.size() < Description::most)
            description->intervals.push_back(reading::seconds_from(*interval));
    }
    const ListResult result = list.result();
    if (result.events == 0)
        return failure(ErrorKind::bad_input,
                       reader.name() + (lines == 0 ? " has a header and nothing below it"
                                                   : " has one time only, and an interval needs two"),
                       "give at least eight intervals; fewer hardly tell anything");
    return result;
}

Expected<ListResult> read_choices(CsvCells& reader, const Header& header, const Options& options) {
    ChoiceList list(options);
    for (;;) {
        const auto cell = next_value(reader, header);
        if (!cell) return tl::make_unexpected(cell.error());
        if (cell->ends_text) break;
        const auto symbol = symbol_of(reader, *cell, options);
        if (!symbol) return tl::make_unexpected(symbol.error());
        list.add(*symbol);
    }
    const ListResult result = list.result();
    if (result.events == 0)
        return failure(ErrorKind::bad_input, reader.name() + " has a header and nothing below it",
                       "give at least thirty choices; fewer hardly tell anything");
    return result;
}

Expected<void> add_cell(IntervalList& list, const CsvCells& reader, const Cell& cell, const Options&) {
    const auto value = number_from(reader, cell);
    if (!value) return tl::make_unexpected(value.error());
    const auto interval = interval_of(reader, cell, *value);
    if (!interval) return tl::make_unexpected(interval.error());
    list.add(*interval);
    return {};
}

Expected<void> add_cell(ChoiceList& list, const CsvCells& reader, const Cell& cell, const Options& options) {
    const auto symbol = symbol_of(reader, cell, options);
    if (!symbol) return tl::make_unexpected(symbol.error());
    list.add(*symbol);
    return {};
}

/// One row, one drill. A spreadsheet fills short rows with empty cells: those may stand at a row's end only. Gives
/// nothing at the end of the text.
template <class List>
Expected<std::optional<ListResult>> read_row(CsvCells& reader, const Options& options) {
    List list(options);
    bool emptied = false;
    for (;;) {
        const auto cell = reader.next();
        if (!cell) return tl::make_unexpected(cell.error());
        if (cell->ends_text) return std::optional<ListResult>{};
        emptied = emptied || cell->text.empty();
        if (emptied && !cell->text.empty())
            return failure(ErrorKind::bad_input, reader.place(*cell) + ": a number after an empty cell",
                           "a drill has no gaps; close it up");
        if (!emptied)
            if (const auto added = add_cell(list, reader, *cell, options); !added)
                return tl::make_unexpected(added.error());
        if (!cell->ends_line) continue;
        const ListResult result = list.result();
        if (result.events == 0)
            return failure(ErrorKind::bad_input, reader.name() + ", line " + std::to_string(cell->line) + " is empty",
                           "each row is a drill; take the line out");
        return std::optional(result);
    }
}

template <class List>
Expected<void> read_rows(CsvCells& reader, const Options& options, std::ostream& out) {
    std::uint64_t rows = 0;
    for (;; ++rows) {
        const auto row = read_row<List>(reader, options);
        if (!row) return tl::make_unexpected(row.error());
        if (!*row) break;
        print_json(out, options, options.rows == Rows::choices, **row, nullptr);
    }
    if (rows == 0) return failure(ErrorKind::bad_input, reader.name() + " is empty", "give one drill a row");
    return {};
}

Expected<void> read_list(CsvCells& reader, const Options& options, std::ostream& out) {
    if (options.rows == Rows::intervals) return read_rows<IntervalList>(reader, options, out);
    if (options.rows == Rows::choices) return read_rows<ChoiceList>(reader, options, out);
    const auto header = read_header(reader);
    if (!header) return tl::make_unexpected(header.error());
    const bool choices = header->column == Column::choice;
    Description description;
    const auto result = choices ? read_choices(reader, *header, options)
                                : read_intervals(reader, *header, options, options.json ? &description : nullptr);
    if (!result) return tl::make_unexpected(result.error());
    if (options.json)
        print_json(out, options, choices, *result, &description);
    else
        print_text(out, options, choices, *result);
    return {};
}

}  // namespace
}  // namespace timeable

int run_timeable(std::span<const std::string> arguments, std::istream& in, std::ostream& out, std::ostream& err) {
    using namespace timeable;
    int exit_code = 0;
    const auto options = parse_timeable(arguments, out, err, exit_code);
    if (!options) return exit_code;
    if (options->table) {
        if (options->leans)
            print_lean_table(out, err, options->drills, options->seed);
        else if (options->whole)
            print_whole_table(out, err, options->drills, options->seed,
                              {!options->known, options->known, options->apart});
        else
            print_table(out, err, options->drills, options->seed);
        return 0;
    }
    std::ifstream file;
    if (options->file != "-") {
        // A folder or a device is told at once; then it is read as it comes, however long it is.
        if (const auto plain = files::read_beginning(options->file, 1); !plain) {
            err << "breakstep timeable: " << plain.error().text() << '\n';
            return plain.error().kind == ErrorKind::system ? 1 : 2;
        }
        file.open(options->file, std::ios::binary);
    }
    CsvCells reader(options->file == "-" ? in : file, options->file == "-" ? "standard input" : options->file);
    const auto done = [&]() -> decltype(read_list(reader, *options, out)) {
        try {
            return read_list(reader, *options, out);
        } catch (const std::ios_base::failure&) {  // what the standard library makes of a disk that fails
            return failure(ErrorKind::system, options->file + " can't be read: the disk reports a fault",
                           "check that the disk or stick is still there");
        }
    }();
    out.flush();
    if (!done) {
        err << "breakstep timeable: " << done.error().text() << '\n';
        return done.error().kind == ErrorKind::system ? 1 : 2;
    }
    if (!out) {
        err << "breakstep timeable: the results could not be written; is the disk full?\n";
        return 1;
    }
    return 0;
}

}  // namespace breakstep
