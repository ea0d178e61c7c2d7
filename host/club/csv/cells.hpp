// The cells of a CSV text, one after the other, in a fixed buffer: a list of any length takes 64 KiB. The one dialect
// of every list that breakstep reads:
//
// UTF-8, a byte order mark is skipped. Cells are parted by the first of tab, semicolon and comma that stands in the
// first line outside quotes. A cell in quotes keeps everything in it, quotes doubled (RFC 4180), line ends too; of one
// without quotes spaces and tabs at both ends are no part. Lines end in LF, CRLF or CR. A cell has at most 64 KiB.
//
// Our own: of the libraries in Debian 12, libfccp reads line by line, so that no cell may hold a line break, and fixes
// the columns when compiled; libcsv tells no places. Neither can name the line and column of a mistake.
//
// One thread; failures are those of the stream (system) and of what stands in the text (bad_input), with its place.
#pragma once

#include <cstdint>
#include <iosfwd>
#include <string>
#include <string_view>
#include <vector>

#include "core/error.hpp"

namespace breakstep {

/// A cell as it stands in the file. Lines and columns are counted from 1.
struct CsvCell {
    std::string text;
    std::size_t line = 0, column = 0;
};

class CsvCells {
  public:
    struct Cell : CsvCell {
        bool quoted = false;
        bool ends_line = false;
        bool ends_text = false;  ///< nothing came any more: no cell
        /// The only cell of a line that has nothing in it.
        [[nodiscard]] bool is_blank_line() const { return column == 1 && ends_line && !quoted && text.empty(); }
    };

    /// `name` is what errors call the text: its file, or "standard input". The stream and the text must outlive this.
    CsvCells(std::istream& in, std::string name);
    CsvCells(std::string_view text, std::string name);

    [[nodiscard]] Expected<Cell> next();
    [[nodiscard]] const std::string& name() const { return name_; }
    /// "list.csv, line 7, column 2".
    [[nodiscard]] std::string place(const CsvCell& cell) const;

  private:
    [[nodiscard]] bool has_more();  // fills the buffer; false at the end, and where the stream failed
    [[nodiscard]] bool stands(char character) { return has_more() && rest_.front() == character; }
    [[nodiscard]] bool at_cell_end();
    void take_mark_and_separator();
    [[nodiscard]] Expected<void> take_quoted(Cell& cell);
    [[nodiscard]] Expected<void> take_bare(Cell& cell);
    [[nodiscard]] Expected<void> keep(Cell& cell, std::size_t count);
    void skip_blanks();
    void take_end(Cell& cell);

    std::istream* in_;  // null: all of the text is in rest_
    std::string name_;
    std::vector<char> buffer_;
    std::string_view rest_;
    bool started_ = false, failed_ = false;
    char separator_ = ',';
    std::size_t line_ = 1, column_ = 1;
};

}  // namespace breakstep
