// What text the store takes: UTF-8, of bounded length, names in one line. Pure; any thread.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

namespace breakstep {

inline constexpr std::size_t name_characters_max = 200;
inline constexpr std::size_t notes_characters_max = 10'000;

/// Characters, not bytes, of a text that is UTF-8.
[[nodiscard]] std::size_t characters_in(std::string_view text);
/// The first byte that no UTF-8 has at its place (overlong forms and surrogates included); null if there is none.
[[nodiscard]] std::optional<std::size_t> not_utf8_at(std::string_view text);
/// A line break or any other control character of ASCII.
[[nodiscard]] bool has_control(std::string_view text);
/// The same apart from line breaks and tabs, which notes may have.
[[nodiscard]] bool has_control_in_notes(std::string_view text);

/// As a shell takes it for one word, whatever is in it: for commands that a message advises.
[[nodiscard]] std::string shell_word(std::string_view text);

}  // namespace breakstep
