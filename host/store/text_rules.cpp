#include "store/text_rules.hpp"

#include <algorithm>

namespace breakstep {
namespace {

unsigned byte_at(std::string_view text, std::size_t at) { return static_cast<unsigned char>(text[at]); }

bool is_control(char byte) {
    const auto value = static_cast<unsigned char>(byte);
    return value < 0x20 || value == 0x7f;
}

// U+0080 to U+009F: some terminals take them for commands.
bool has_wide_control(std::string_view text) {
    for (std::size_t at = 0; at + 1 < text.size(); ++at)
        if (byte_at(text, at) == 0xC2 && byte_at(text, at + 1) >= 0x80 && byte_at(text, at + 1) <= 0x9F) return true;
    return false;
}

// Bytes of the character at `at`, 0 if there is none. The ranges are those of the Unicode standard, table 3-7
// (well-formed UTF-8 byte sequences).
std::size_t length_of_character(std::string_view text, std::size_t at) {
    const unsigned first = byte_at(text, at);
    if (first < 0x80) return 1;
    const std::size_t length = first >= 0xC2 && first <= 0xDF   ? 2
                               : first >= 0xE0 && first <= 0xEF ? 3
                               : first >= 0xF0 && first <= 0xF4 ? 4
                                                                : 0;
    if (length == 0 || at + length > text.size()) return 0;
    const unsigned second_min = first == 0xE0 ? 0xA0 : first == 0xF0 ? 0x90 : 0x80;
    const unsigned second_max = first == 0xED ? 0x9F : first == 0xF4 ? 0x8F : 0xBF;
    if (byte_at(text, at + 1) < second_min || byte_at(text, at + 1) > second_max) return 0;
    for (std::size_t i = 2; i < length; ++i)
        if ((byte_at(text, at + i) & 0xC0U) != 0x80U) return 0;
    return length;
}

}  // namespace

std::size_t characters_in(std::string_view text) {
    // Every UTF-8 byte that does not continue a character begins one.
    return static_cast<std::size_t>(std::count_if(
        text.begin(), text.end(), [](char byte) { return (static_cast<unsigned char>(byte) & 0xC0U) != 0x80U; }));
}

std::optional<std::size_t> not_utf8_at(std::string_view text) {
    for (std::size_t at = 0; at < text.size();) {
        const std::size_t length = length_of_character(text, at);
        if (length == 0) return at;
        at += length;
    }
    return std::nullopt;
}

bool has_control(std::string_view text) {
    return std::any_of(text.begin(), text.end(), is_control) || has_wide_control(text);
}

bool has_control_in_notes(std::string_view text) {
    return has_wide_control(text) || std::any_of(text.begin(), text.end(), [](char byte) {
               return is_control(byte) && byte != '\n' && byte != '\r' && byte != '\t';
           });
}

std::string shell_word(std::string_view text) {
    constexpr std::string_view plain = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-+./:,@%";
    if (!text.empty() && text.find_first_not_of(plain) == std::string_view::npos) return std::string(text);
    std::string word = "'";
    for (const char character : text) word += character == '\'' ? std::string("'\\''") : std::string(1, character);
    return word + "'";
}

}  // namespace breakstep
