// The cells of a CSV text, one after the other, in a fixed buffer: a list of any length takes 64 KiB.
//
// Separators are the first of tab, semicolon and comma that stands in the first line. Spaces and one pair of quotes
// around a cell are taken off, and so is a byte order mark. Lines end in LF or CRLF. Main thread; a view is valid until
// the next call; failures are those of the stream (system) and cells of more than 4,096 characters (bad input).
#pragma once

#include <cstdint>
#include <iosfwd>
#include <string>
#include <string_view>
#include <vector>

#include "core/error.hpp"

namespace breakstep::timeable {

struct Cell {
    std::string_view text;
    std::uint64_t line = 1;    ///< from 1
    std::uint64_t column = 1;  ///< from 1, in cells
    bool ends_line = false;
    bool ends_text = false;  ///< nothing came any more: `text` is empty and no cell
};

class CellReader {
  public:
    /// `name` is what errors call the text: its file, or "standard input".
    CellReader(std::istream& in, std::string name);

    [[nodiscard]] Expected<Cell> next();
    [[nodiscard]] const std::string& name() const { return name_; }
    /// "list.csv, line 7, column 2".
    [[nodiscard]] std::string place(const Cell& cell) const;

  private:
    [[nodiscard]] Expected<bool> fill();
    void choose_separator();

    std::istream& in_;
    std::string name_;
    std::vector<char> buffer_;
    std::size_t at_ = 0;
    std::size_t filled_ = 0;
    bool stream_ended_ = false;
    bool started_ = false;
    char separator_ = ',';
    std::uint64_t line_ = 1;
    std::uint64_t column_ = 1;
};

/// A finite number, the whole of `text`; the error says what stands there and where.
[[nodiscard]] Expected<double> number_from(const CellReader& reader, const Cell& cell);

}  // namespace breakstep::timeable
