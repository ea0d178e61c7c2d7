// What `rung` and `leads` share in saying things: cells of somebody else's file shown so that a terminal acts on
// nothing, columns, wealths. And reading the file that was named. Pure but for text_of_list(); any thread.
#pragma once

#include <string>
#include <string_view>

#include "core/error.hpp"

namespace breakstep {

/// At most 40 characters, control characters as "?".
[[nodiscard]] std::string shown_cell(std::string_view text);
/// With spaces behind, to `width` characters (of UTF-8, not bytes).
[[nodiscard]] std::string padded(std::string_view text, std::size_t width);
/// "0.84", "95.6", "1.2e+09", of ln wealth.
[[nodiscard]] std::string wealth_words(double log_wealth);

struct ListText {
    std::string text;
    std::string name;  ///< what messages call it
};
/// "-" is standard input; "" is no list. Whatever keeps it from being read is bad_input: the file that was named can't
/// be used.
[[nodiscard]] Expected<ListText> text_of_list(const std::string& file);

}  // namespace breakstep
