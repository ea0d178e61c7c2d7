#include "club/csv/csv.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <optional>

#include "files/reading.hpp"

namespace breakstep {
namespace {

constexpr std::size_t file_bytes_max = std::size_t{64} << 20U;

Error place_error(const std::string& file, std::size_t line, std::size_t column, const std::string& what,
                  const std::string& to_do) {
    return {ErrorKind::bad_input, fmt::format("{}, line {}, column {}: {}", file, line, column, what), to_do};
}

/// The next row; empty for a blank line, and at the end of the text.
Expected<CsvRow> next_row(CsvCells& cells, bool& at_end) {
    CsvRow row;
    for (;;) {
        auto cell = cells.next();
        if (!cell) return tl::make_unexpected(cell.error());
        at_end = cell->ends_text;
        if (cell->ends_text || cell->is_blank_line()) return row;
        row.push_back(std::move(*cell));
        if (cell->ends_line) return row;
    }
}

std::string names_of(std::span<const CsvColumn> columns) {
    std::string names;
    for (const CsvColumn& column : columns) names += (names.empty() ? "" : ",") + std::string(column.name);
    return names;
}

// Which of the file's columns (from 0) holds each wanted one; null for an optional one that is not there.
Expected<std::vector<std::optional<std::size_t>>> places_of(const std::vector<CsvCell>& header,
                                                            std::span<const CsvColumn> columns,
                                                            const std::string& file) {
    const std::string wanted = "the first line must name the columns: " + names_of(columns);
    std::vector<std::optional<std::size_t>> places(columns.size());
    for (std::size_t i = 0; i < header.size(); ++i) {
        const std::string name = folded(trimmed(header[i].text));
        const auto wrong = [&](const std::string& what, const std::string& to_do) {
            return tl::make_unexpected(place_error(file, header[i].line, i + 1, what, to_do));
        };
        const auto found =
            std::find_if(columns.begin(), columns.end(), [&](const CsvColumn& column) { return column.name == name; });
        if (found == columns.end()) return wrong(fmt::format("there is no column \"{}\"", name), wanted);
        auto& place = places[static_cast<std::size_t>(found - columns.begin())];
        if (place) return wrong(fmt::format("the column \"{}\" is there twice", name), "leave one of them");
        place = i;
    }
    for (std::size_t i = 0; i < columns.size(); ++i)
        if (columns[i].required && !places[i])
            return tl::make_unexpected(place_error(file, header.empty() ? 1 : header.front().line, header.size() + 1,
                                                   fmt::format("the column \"{}\" is missing", columns[i].name),
                                                   wanted));
    return places;
}

bool would_be_formula(std::string_view text) {
    const std::size_t first = text.find_first_not_of('\'');
    return first != std::string_view::npos &&
           std::string_view("=+-@\t\r\n").find(text[first]) != std::string_view::npos;
}

}  // namespace

Error CsvSheet::error_at(const CsvCell& cell, const std::string& what, const std::string& to_do) const {
    std::string place = fmt::format("{}, line {}", file, cell.line);
    if (cell.column > 0) place += fmt::format(", column {} ({})", cell.column, header[cell.column - 1]);
    return {ErrorKind::bad_input, place + ": " + what, to_do};
}

namespace {

// A row's cells in the order of the columns that were asked for.
Expected<CsvRow> placed(CsvRow& cells, const CsvRow& header, const std::vector<std::optional<std::size_t>>& places,
                        const std::string& file) {
    const std::size_t line = cells.front().line;
    if (cells.size() < header.size())
        return tl::make_unexpected(place_error(file, line, cells.size() + 1,
                                               fmt::format("the cell \"{}\" is missing", header[cells.size()].text),
                                               "give each row as many cells as the first line has"));
    if (cells.size() > header.size())
        return tl::make_unexpected(
            place_error(file, line, header.size() + 1,
                        fmt::format("\"{}\" is a cell more than the first line has", cells[header.size()].text),
                        "write decimals with a point (1.5, not 1,5) and texts with commas in quotes"));
    CsvRow row;
    row.reserve(places.size());
    for (const auto& place : places) row.push_back(place ? std::move(cells[*place]) : CsvCell{"", line, 0});
    return row;
}

}  // namespace

Expected<void> read_csv(std::string_view text, const std::string& file, std::span<const CsvColumn> columns,
                        const std::function<Expected<void>(const CsvSheet& sheet, CsvRow& row)>& each) {
    CsvCells cells(text, file);
    CsvSheet sheet{file, {}, {}};
    CsvRow header;
    bool at_end = false;
    while (header.empty() && !at_end) {
        auto row = next_row(cells, at_end);
        if (!row) return tl::make_unexpected(row.error());
        header = std::move(*row);
    }
    const auto places = places_of(header, columns, file);
    if (!places) return tl::make_unexpected(places.error());
    for (const CsvCell& cell : header) sheet.header.push_back(trimmed(cell.text));
    for (;;) {
        auto read = next_row(cells, at_end);
        if (!read) return tl::make_unexpected(read.error());
        if (at_end) return {};
        if (read->empty()) continue;
        auto row = placed(*read, header, *places, file);
        if (!row) return tl::make_unexpected(row.error());
        if (Expected<void> taken = each(sheet, *row); !taken) return taken;
    }
}

Expected<CsvSheet> parse_csv(std::string_view text, const std::string& file, std::span<const CsvColumn> columns) {
    CsvSheet whole{file, {}, {}};
    const auto read = read_csv(text, file, columns, [&](const CsvSheet& sheet, CsvRow& row) -> Expected<void> {
        whole.header = sheet.header;
        whole.rows.push_back(std::move(row));
        return {};
    });
    if (!read) return tl::make_unexpected(read.error());
    return whole;
}

Expected<std::string> read_file(const std::string& path) {
    if (path != "-") {
        auto text = files::read_whole(path, file_bytes_max);
        if (text || text.error().kind != ErrorKind::bad_input || text.error().what.find("larger") == std::string::npos)
            return text;
        return failure(ErrorKind::bad_input, path + " is larger than 64 MiB", "import it in parts");
    }
    std::string text;
    std::vector<char> part(std::size_t{1} << 16U);
    for (ssize_t count = 0; (count = ::read(STDIN_FILENO, part.data(), part.size())) != 0;) {
        if (count < 0 && errno == EINTR) continue;
        if (count < 0) return tl::make_unexpected(files::system_error("stdin", "read", errno));
        text.append(part.data(), static_cast<std::size_t>(count));
        if (text.size() > file_bytes_max)
            return failure(ErrorKind::bad_input, "what comes from stdin is larger than 64 MiB", "import it in parts");
    }
    return text;
}

std::string csv_cell(std::string_view text) {
    const auto is_blank = [](char character) { return character == ' ' || character == '\t'; };
    const bool spaces_outside = !text.empty() && (is_blank(text.front()) || is_blank(text.back()));
    if (text.find_first_of(",\"\r\n") == std::string_view::npos && !spaces_outside) return std::string(text);
    std::string quoted = "\"";
    for (const char character : text) {
        if (character == '"') quoted += '"';
        quoted += character;
    }
    return quoted + '"';
}

std::string harmless_text(std::string_view text) { return (would_be_formula(text) ? "'" : "") + std::string(text); }

std::string plain_text(std::string_view text) {
    if (text.starts_with('\'') && would_be_formula(text)) text.remove_prefix(1);
    return std::string(text);
}

std::string trimmed(std::string_view text) {
    constexpr std::string_view spaces = " \t\r\n";
    const std::size_t first = text.find_first_not_of(spaces);
    if (first == std::string_view::npos) return "";
    return std::string(text.substr(first, text.find_last_not_of(spaces) - first + 1));
}

std::string folded(std::string_view text) {
    std::string lower(text);
    for (char& letter : lower)
        if (letter >= 'A' && letter <= 'Z') letter = static_cast<char>(letter - 'A' + 'a');
    return lower;
}

}  // namespace breakstep
