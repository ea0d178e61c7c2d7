#include "core/printable.hpp"

namespace breakstep {

namespace {

// Bytes of the character at `at`, 0 for what a terminal should not be given: controls (U+0000 to U+001F, U+007F to
// U+009F), marks of direction (U+200E, U+200F, U+202A to U+202E, U+2066 to U+2069), and what is not UTF-8.
std::size_t harmless_bytes_at(std::string_view text, std::size_t at) {
    const auto byte = [&](std::size_t i) { return i < text.size() ? static_cast<unsigned char>(text[i]) : 0U; };
    const unsigned first = byte(at);
    if (first < 0x80) return first >= 0x20 && first != 0x7F ? 1 : 0;
    const std::size_t length = first >= 0xC2 && first <= 0xDF   ? 2
                               : first >= 0xE0 && first <= 0xEF ? 3
                               : first >= 0xF0 && first <= 0xF4 ? 4
                                                                : 0;
    for (std::size_t i = 1; i < length; ++i)
        if ((byte(at + i) & 0xC0U) != 0x80U) return 0;
    if (length == 2 && first == 0xC2 && byte(at + 1) < 0xA0) return 0;
    if (length == 3 && first == 0xE2) {
        const unsigned last = byte(at + 2);
        if (byte(at + 1) == 0x80 && (last == 0x8E || last == 0x8F || (last >= 0xA8 && last <= 0xAE))) return 0;
        if (byte(at + 1) == 0x81 && last >= 0xA6 && last <= 0xA9) return 0;
    }
    return length;
}

void append_printable(std::string_view text, std::string& to) {
    constexpr char digits[] = "0123456789abcdef";
    for (std::size_t at = 0; at < text.size();) {
        const std::size_t length = harmless_bytes_at(text, at);
        if (length > 0) {
            to.append(text, at, length);
            at += length;
        } else {
            const auto byte = static_cast<unsigned char>(text[at++]);
            to.append("\\x").append(1, digits[byte >> 4U]).append(1, digits[byte & 15U]);
        }
    }
}

bool continues_character(char byte) { return (static_cast<unsigned char>(byte) & 0xC0U) == 0x80U; }

}  // namespace

std::string printable(std::string_view text, std::size_t bytes_max) {
    std::string shown;
    if (text.size() <= bytes_max) {
        append_printable(text, shown);
        return shown;
    }
    std::size_t head = bytes_max * 3 / 4, tail = text.size() - bytes_max / 4;
    while (head > 0 && continues_character(text[head])) --head;
    while (tail < text.size() && continues_character(text[tail])) ++tail;
    append_printable(text.substr(0, head), shown);
    shown += " ... (" + std::to_string(tail - head) + " more bytes) ... ";
    append_printable(text.substr(tail), shown);
    return shown;
}

std::string printable_text(const Error& error) {
    constexpr std::size_t advice_bytes_max = 4000;  // a list of what there is may be long
    return printable(error.what) + (error.to_do.empty() ? "" : "; " + printable(error.to_do, advice_bytes_max));
}

}  // namespace breakstep
