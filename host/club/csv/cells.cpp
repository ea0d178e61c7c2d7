#include "club/csv/cells.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <istream>

#include "store/text_rules.hpp"

namespace breakstep {
namespace {

constexpr std::size_t buffer_size = std::size_t{1} << 16U;
constexpr std::size_t longest_cell = std::size_t{1} << 16U;

/// The first of tab, semicolon and comma outside quotes in the first line.
char separator_in(std::string_view text) {
    bool quoted = false, semicolon = false;
    for (const char character : text) {
        if (character == '"') quoted = !quoted;
        if (quoted) continue;
        if (character == '\n' || character == '\r') break;
        if (character == '\t') return '\t';
        semicolon = semicolon || character == ';';
    }
    return semicolon ? ';' : ',';
}

}  // namespace

CsvCells::CsvCells(std::istream& in, std::string name) : in_(&in), name_(std::move(name)), buffer_(buffer_size) {}
CsvCells::CsvCells(std::string_view text, std::string name) : in_(nullptr), name_(std::move(name)), rest_(text) {}

std::string CsvCells::place(const CsvCell& cell) const {
    return fmt::format("{}, line {}, column {}", name_, cell.line, cell.column);
}

bool CsvCells::has_more() {
    if (!rest_.empty()) return true;
    if (in_ == nullptr || !in_->good()) return false;
    in_->read(buffer_.data(), static_cast<std::streamsize>(buffer_.size()));
    failed_ = failed_ || in_->bad();
    rest_ = {buffer_.data(), static_cast<std::size_t>(in_->gcount())};
    return !rest_.empty();
}

void CsvCells::take_mark_and_separator() {
    started_ = true;
    (void)has_more();
    constexpr std::string_view mark = "\xEF\xBB\xBF";
    if (rest_.starts_with(mark)) rest_.remove_prefix(mark.size());
    separator_ = separator_in(rest_);
}

bool CsvCells::at_cell_end() { return !has_more() || stands(separator_) || stands('\n') || stands('\r'); }

void CsvCells::skip_blanks() {
    while (has_more() && rest_.front() != separator_ && (rest_.front() == ' ' || rest_.front() == '\t'))
        rest_.remove_prefix(1);
}

Expected<void> CsvCells::keep(Cell& cell, std::size_t count) {
    if (cell.text.size() + count > longest_cell)
        return failure(ErrorKind::bad_input, fmt::format("{}: a cell of more than {} bytes", place(cell), longest_cell),
                       "this does not look like a list; give a CSV text");
    cell.text += rest_.substr(0, count);
    rest_.remove_prefix(count);
    return {};
}

Expected<void> CsvCells::take_quoted(Cell& cell) {
    cell.quoted = true;
    for (bool first = true;; first = false) {
        if (!first && !stands('"')) break;  // a quote that is doubled goes on
        if (!first) cell.text += '"';
        rest_.remove_prefix(1);
        while (has_more() && rest_.front() != '"') {
            const std::size_t count = std::min(rest_.find('"'), rest_.size());
            line_ += static_cast<std::size_t>(std::count(rest_.begin(), rest_.begin() + count, '\n'));
            if (auto kept = keep(cell, count); !kept) return kept;
        }
        if (!has_more())
            return failure(ErrorKind::bad_input, place(cell) + ": a quote is opened and never closed",
                           "close it, or double it where it is part of the text");
        rest_.remove_prefix(1);
    }
    skip_blanks();
    if (at_cell_end()) return {};
    return failure(ErrorKind::bad_input, place({{}, line_, cell.column}) + ": text goes on after a closing quote",
                   "double the quotes that are part of the text");
}

Expected<void> CsvCells::take_bare(Cell& cell) {
    const char ends[] = {separator_, '\n', '\r'};
    while (!at_cell_end())
        if (auto kept = keep(cell, std::min(rest_.find_first_of(ends, 0, sizeof ends), rest_.size())); !kept)
            return kept;
    cell.text.resize(cell.text.find_last_not_of(" \t") + 1);
    return {};
}

void CsvCells::take_end(Cell& cell) {
    cell.ends_line = !stands(separator_);
    if (!cell.ends_line) {
        rest_.remove_prefix(1);
        ++column_;
        return;
    }
    if (stands('\r')) rest_.remove_prefix(1);
    if (stands('\n')) rest_.remove_prefix(1);
    ++line_;
    column_ = 1;
}

Expected<CsvCells::Cell> CsvCells::next() {
    if (!started_) take_mark_and_separator();
    Cell cell;
    cell.line = line_;
    cell.column = column_;
    if (column_ == 1 && !has_more()) {
        cell.ends_line = cell.ends_text = true;
    } else {
        skip_blanks();
        if (const auto taken = stands('"') ? take_quoted(cell) : take_bare(cell); !taken)
            return tl::make_unexpected(taken.error());
        take_end(cell);
    }
    if (failed_)
        return failure(ErrorKind::system, name_ + " could not be read to its end", "check the disk or the cable");
    if (not_utf8_at(cell.text))
        return failure(ErrorKind::bad_input, place(cell) + ": a character is not UTF-8", "save the file as UTF-8");
    return cell;
}

}  // namespace breakstep
