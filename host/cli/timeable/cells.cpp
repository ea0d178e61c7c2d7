#include "cli/timeable/cells.hpp"

#include <charconv>
#include <cmath>
#include <cstring>
#include <istream>
#include <system_error>

namespace breakstep::timeable {
namespace {

constexpr std::size_t buffer_size = 1U << 16U;
constexpr std::size_t longest_cell = 4096;

std::string_view trimmed(std::string_view text) {
    const auto is_space = [](char c) { return c == ' ' || c == '\t' || c == '\r'; };
    while (!text.empty() && is_space(text.front())) text.remove_prefix(1);
    while (!text.empty() && is_space(text.back())) text.remove_suffix(1);
    if (text.size() >= 2 && text.front() == '"' && text.back() == '"') text = text.substr(1, text.size() - 2);
    return text;
}

/// What a message shows of a cell: short, and nothing that a terminal would act on.
std::string shown(std::string_view text) {
    constexpr std::size_t most = 40;
    std::string result;
    for (const char c : text.substr(0, most)) {
        const auto byte = static_cast<unsigned char>(c);
        result += byte < 0x20 || byte == 0x7f ? '?' : c;
    }
    return text.size() > most ? result + "..." : result;
}

}  // namespace

CellReader::CellReader(std::istream& in, std::string name) : in_(in), name_(std::move(name)), buffer_(buffer_size) {}

std::string CellReader::place(const Cell& cell) const {
    return name_ + ", line " + std::to_string(cell.line) + ", column " + std::to_string(cell.column);
}

Expected<bool> CellReader::fill() {
    if (stream_ended_) return false;
    std::memmove(buffer_.data(), buffer_.data() + at_, filled_ - at_);
    filled_ -= at_;
    at_ = 0;
    in_.read(buffer_.data() + filled_, static_cast<std::streamsize>(buffer_.size() - filled_));
    filled_ += static_cast<std::size_t>(in_.gcount());
    if (in_.bad())
        return failure(ErrorKind::system, name_ + " could not be read to its end", "check the disk or the cable");
    stream_ended_ = in_.eof() || in_.fail();
    return true;
}

void CellReader::choose_separator() {
    constexpr std::string_view mark = "\xEF\xBB\xBF";
    std::string_view text(buffer_.data(), filled_);
    if (text.starts_with(mark)) at_ += mark.size();
    text.remove_prefix(at_);
    const std::string_view line = text.substr(0, text.find('\n'));
    separator_ = line.find('\t') != std::string_view::npos  ? '\t'
                 : line.find(';') != std::string_view::npos ? ';'
                                                            : ',';
    started_ = true;
}

Expected<Cell> CellReader::next() {
    if (!started_) {
        if (const auto more = fill(); !more) return tl::make_unexpected(more.error());
        choose_separator();
    }
    std::size_t end = at_;
    for (;; ++end) {
        if (end == filled_) {
            const std::size_t length = end - at_;
            const auto more = fill();
            if (!more) return tl::make_unexpected(more.error());
            end = at_ + length;
            if (end == filled_) break;
        }
        if (buffer_[end] == separator_ || buffer_[end] == '\n') break;
        if (end - at_ > longest_cell)
            return failure(ErrorKind::bad_input,
                           name_ + ", line " + std::to_string(line_) + ", column " + std::to_string(column_) +
                               ": a cell of more than " + std::to_string(longest_cell) + " characters",
                           "this does not look like a list; give a CSV text");
    }
    Cell cell;
    cell.line = line_;
    cell.column = column_;
    const bool text_ended = end == filled_;
    cell.text = trimmed(std::string_view(buffer_.data() + at_, end - at_));
    if (text_ended && end == at_ && column_ == 1) {
        cell.ends_line = true;
        cell.ends_text = true;
        return cell;
    }
    cell.ends_line = text_ended || buffer_[end] == '\n';
    at_ = text_ended ? end : end + 1;
    column_ = cell.ends_line ? 1 : column_ + 1;
    line_ += cell.ends_line ? 1 : 0;
    return cell;
}

Expected<double> number_from(const CellReader& reader, const Cell& cell) {
    std::string_view digits = cell.text;
    if (digits.starts_with('+')) digits.remove_prefix(1);
    double value = 0;
    const auto result = std::from_chars(digits.data(), digits.data() + digits.size(), value);
    if (!digits.empty() && result.ec == std::errc{} && result.ptr == digits.data() + digits.size() &&
        std::isfinite(value))
        return value;
    const std::string where = reader.place(cell);
    if (cell.text.empty())
        return failure(ErrorKind::bad_input, where + ": the cell is empty", "put a number there, or take the line out");
    const std::string what = where + ": \"" + shown(cell.text) + "\" is not a number";
    if (result.ec == std::errc::result_out_of_range || (result.ec == std::errc{} && !std::isfinite(value)))
        return failure(ErrorKind::bad_input, where + ": \"" + shown(cell.text) + "\" is not a finite number",
                       "put a number there, or take the line out");
    if (cell.text.find(',') != std::string_view::npos)
        return failure(ErrorKind::bad_input, what, "write decimals with a point: 0.82, not 0,82");
    return failure(ErrorKind::bad_input, what, "put a number there, or take the line out");
}

}  // namespace breakstep::timeable
