// The one dialect of every list: what is a cell, where it stands, and what is refused with its place.
#include <doctest/doctest.h>

#include <array>
#include <sstream>
#include <string>
#include <vector>

#include "club/csv/csv.hpp"

using namespace breakstep;

namespace {

using Rows = std::vector<std::vector<std::string>>;

/// All cells, row by row, or the error's text as the only one.
Rows cells_of(CsvCells cells) {
    Rows rows(1);
    for (;;) {
        const auto cell = cells.next();
        if (!cell) return {{cell.error().text()}};
        if (cell->ends_text) {
            rows.pop_back();
            return rows;
        }
        rows.back().push_back(cell->text);
        if (cell->ends_line) rows.emplace_back();
    }
}
Rows cells_of(const std::string& text) { return cells_of(CsvCells(text, "list.csv")); }

}  // namespace

TEST_CASE("cells are parted by the first of tab, semicolon and comma in the first line") {
    const Rows expected{{"a", "b"}, {"1", "2"}};
    CHECK(cells_of("a,b\n1,2\n") == expected);
    CHECK(cells_of("a;b\n1;2\n") == expected);
    CHECK(cells_of("a\tb\n1\t2\n") == expected);
    CHECK(cells_of("a;b\n1,5;2\n") == Rows{{"a", "b"}, {"1,5", "2"}});
    CHECK(cells_of("\"a;b\",c\n1,2\n") == Rows{{"a;b", "c"}, {"1", "2"}});
    CHECK(cells_of("a\n1\n") == Rows{{"a"}, {"1"}});
}

TEST_CASE("any line ends do, and the last line needs none") {
    const Rows expected{{"a", "b"}, {"1", ""}};
    CHECK(cells_of("a,b\r\n1,\r\n") == expected);
    CHECK(cells_of("a,b\r1,\r") == expected);
    CHECK(cells_of("a,b\n1,") == expected);
    CHECK(cells_of("\xEF\xBB\xBF"
                   "a,b\n1,") == expected);
    CHECK(cells_of("") == Rows{});
    CHECK(cells_of("a\n\nb") == Rows{{"a"}, {""}, {"b"}});
}

TEST_CASE("a cell in quotes keeps what is in it, one without loses the blanks around it") {
    CHECK(cells_of("x,y,z\n\" a,\"\"b\"\"\nc \",  d \t,\"\"\n") == Rows{{"x", "y", "z"}, {" a,\"b\"\nc ", "d", ""}});
    CHECK(cells_of("\"\"\"\",\"\"\"\"\"\"\n") == Rows{{"\"", "\"\""}});
    CHECK(cells_of("  \"a\"  ,b\n") == Rows{{"a", "b"}});
}

TEST_CASE("a list in a stream reads like one in memory, however its pieces fall") {
    std::string text = "n,text\n";
    for (int i = 0; i < 30'000; ++i) text += std::to_string(i) + ",\"x\"\"" + std::to_string(i) + "\"\r\n";
    std::istringstream in(text);
    CHECK(cells_of(CsvCells(in, "standard input")) == cells_of(text));
}

TEST_CASE("what can't be is refused with its place") {
    const auto refused = [](const std::string& text, const std::string& words) {
        const Rows rows = cells_of(text);
        CAPTURE(rows[0][0]);
        CHECK(rows[0][0].find(words) != std::string::npos);
    };
    refused("a,b\n1,\"2\n", "list.csv, line 2, column 2: a quote is opened and never closed");
    refused("a,b\n1,\"2\"3\n", "list.csv, line 2, column 2: text goes on after a closing quote");
    refused("a,b\n1,\xFF\n", "list.csv, line 2, column 2: a character is not UTF-8");
    refused("a,b\n1," + std::string(70'000, 'x'), "list.csv, line 2, column 2: a cell of more than 65536 bytes");
}

TEST_CASE("a table names its columns in any order, and each row has all of them") {
    constexpr std::array columns{CsvColumn{"who"}, CsvColumn{"time_s"}, CsvColumn{"note", false}};
    const auto sheet = parse_csv("Time_s ; WHO\n1.5;a\n\n2;b\n", "list.csv", columns);
    REQUIRE(sheet.has_value());
    REQUIRE(sheet->rows.size() == 2);
    CHECK(sheet->rows[1][0].text == "b");
    CHECK(sheet->rows[1][0].line == 4);
    CHECK(sheet->rows[1][0].column == 2);
    CHECK(sheet->rows[1][2].column == 0);
    CHECK(sheet->error_at(sheet->rows[0][1], "is odd", "mend it").what ==
          "list.csv, line 2, column 1 (Time_s): is odd");
    for (const auto& [text, words] :
         {std::pair{"who\na\n", "the column \"time_s\" is missing"},
          std::pair{"who,time_s\na\n", "the cell \"time_s\" is missing"},
          std::pair{"who,time_s\na,1,5\n", "is a cell more than the first line has"},
          std::pair{"who,time_s,who\n", "is there twice"}, std::pair{"who,when\n", "there is no column \"when\""}}) {
        const auto wrong = parse_csv(text, "list.csv", columns);
        REQUIRE_FALSE(wrong.has_value());
        CHECK(wrong.error().what.find(words) != std::string::npos);
    }
}

TEST_CASE("what is written is read again to the byte, and no spreadsheet takes it for a formula") {
    for (const std::string text :
         {"plain", " spaces ", "tab\t", "a,b;c\td", "\"quoted\"", "two\nlines", "=1+1", "'=1", "'", ""}) {
        CAPTURE(text);
        const Rows rows = cells_of("a,b\n" + csv_cell(harmless_text(text)) + ",1\n");
        REQUIRE(rows.size() == 2);
        CHECK(plain_text(rows[1][0]) == text);
    }
    CHECK(harmless_text("=1+1") == "'=1+1");
}
