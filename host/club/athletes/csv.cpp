#include "club/athletes/csv.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <optional>

#include "files/reading.hpp"
#include "store/text_rules.hpp"

namespace breakstep {
namespace {

constexpr std::size_t file_bytes_max = std::size_t{64} << 20U;

Error place_error(const std::string& file, std::size_t line, std::size_t column, const std::string& what,
                  const std::string& to_do) {
    return {ErrorKind::bad_input, fmt::format("{}, line {}, column {}: {}", file, line, column, what), to_do};
}

/// Walks through the text, cell by cell.
class CellReader {
  public:
    CellReader(std::string_view text, const std::string& file) : text_(text), file_(file) {
        if (text_.starts_with("\xEF\xBB\xBF")) text_.remove_prefix(3);
    }
    [[nodiscard]] bool at_end() const { return at_ >= text_.size(); }

    /// The next row; empty for a blank line.
    Expected<std::vector<CsvCell>> row() {
        std::vector<CsvCell> cells;
        for (std::size_t column = 1;; ++column) {
            CsvCell cell{"", line_, column};
            const bool quoted = !at_end() && text_[at_] == '"';
            if (const auto read = quoted ? quoted_cell(cell) : bare_cell(cell); !read)
                return tl::make_unexpected(read.error());
            if (not_utf8_at(cell.text))
                return tl::make_unexpected(
                    place_error(file_, cell.line, column, "a character is not UTF-8", "save the file as UTF-8"));
            const bool blank = column == 1 && !quoted && cell.text.empty() && (at_end() || text_[at_] != ',');
            if (!blank) cells.push_back(std::move(cell));
            if (at_end() || text_[at_] != ',') break;
            ++at_;
        }
        take_line_end();
        return cells;
    }

  private:
    Expected<void> bare_cell(CsvCell& cell) {
        const std::size_t end = std::min(text_.find_first_of(",\r\n", at_), text_.size());
        cell.text = text_.substr(at_, end - at_);
        at_ = end;
        return {};
    }
    Expected<void> quoted_cell(CsvCell& cell) {
        for (++at_; !at_end(); ++at_) {
            if (text_[at_] == '"') {
                if (at_ + 1 >= text_.size() || text_[at_ + 1] != '"') break;
                ++at_;
            } else if (text_[at_] == '\n') {
                ++line_;
            }
            cell.text += text_[at_];
        }
        if (at_end())
            return tl::make_unexpected(place_error(file_, cell.line, cell.column, "a quote is opened and never closed",
                                                   "close it, or double it where it is part of the text"));
        ++at_;
        if (!at_end() && text_[at_] != ',' && text_[at_] != '\r' && text_[at_] != '\n')
            return tl::make_unexpected(place_error(file_, line_, cell.column, "text goes on after a closing quote",
                                                   "double the quotes that are part of the text"));
        return {};
    }
    void take_line_end() {
        if (!at_end() && text_[at_] == '\r') ++at_;
        if (!at_end() && text_[at_] == '\n') ++at_;
        ++line_;
    }

    std::string_view text_;
    const std::string& file_;
    std::size_t at_ = 0, line_ = 1;
};

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
        if (header.size() == 1 && columns.size() > 1 && name.find_first_of(";\t") != std::string::npos)
            return wrong("the columns are not parted by commas", "save the file with commas between the columns");
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
    CellReader reader(text, file);
    CsvSheet sheet{file, {}, {}};
    CsvRow header;
    while (header.empty() && !reader.at_end()) {
        auto read = reader.row();
        if (!read) return tl::make_unexpected(read.error());
        header = std::move(*read);
    }
    const auto places = places_of(header, columns, file);
    if (!places) return tl::make_unexpected(places.error());
    for (const CsvCell& cell : header) sheet.header.push_back(trimmed(cell.text));
    while (!reader.at_end()) {
        auto read = reader.row();
        if (!read) return tl::make_unexpected(read.error());
        if (read->empty()) continue;
        auto row = placed(*read, header, *places, file);
        if (!row) return tl::make_unexpected(row.error());
        if (Expected<void> taken = each(sheet, *row); !taken) return taken;
    }
    return {};
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
    const bool spaces_outside = !text.empty() && (text.front() == ' ' || text.back() == ' ');
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
