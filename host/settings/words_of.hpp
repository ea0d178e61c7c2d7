// The words of an enumeration in order, for TableReader's lists of allowed words. Pure; any thread.
#pragma once

#include <string_view>
#include <vector>

namespace breakstep {

/// From the first (0) up to `last`.
template <class Enum>
[[nodiscard]] std::vector<std::string_view> words_up_to(Enum last) {
    std::vector<std::string_view> words;
    for (int i = 0; i <= static_cast<int>(last); ++i) words.push_back(word(static_cast<Enum>(i)));
    return words;
}

}  // namespace breakstep
