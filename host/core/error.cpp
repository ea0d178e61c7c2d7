#include "core/error.hpp"

#include <cstdio>
#include <cstdlib>

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

// Why something failed stands behind what was typed: of a long text both ends are shown.
std::string both_ends(std::string_view text, std::size_t longest) {
    if (text.size() <= longest) return shown_text(text, longest);
    std::size_t tail = text.size() - longest / 4;
    while (tail < text.size() && (static_cast<unsigned char>(text[tail]) & 0xC0U) == 0x80U) ++tail;
    std::string shown = shown_text(text.substr(0, tail), longest - longest / 4);
    return shown.append(shown_text(text.substr(tail), longest / 4));
}

}  // namespace

std::string shown_text(std::string_view text, std::size_t longest) {
    constexpr std::string_view digits = "0123456789abcdef";
    std::string shown;
    for (std::size_t at = 0; at < text.size();) {
        if (shown.size() >= longest) return shown + "...";
        if (const std::size_t bytes = harmless_bytes_at(text, at); bytes > 0) {
            shown.append(text, at, bytes);
            at += bytes;
            continue;
        }
        const auto byte = static_cast<unsigned char>(text[at++]);
        shown += "\\x";
        shown += digits[byte >> 4U];
        shown += digits[byte & 0xFU];
    }
    return shown;
}

std::string Error::text() const {
    // What to do may be a list of what there is.
    constexpr std::size_t what_longest = 1000, to_do_longest = 4000;
    std::string line = both_ends(what, what_longest);
    if (!to_do.empty()) line.append("; ").append(both_ends(to_do, to_do_longest));
    return line;
}

void broken_invariant(const char* what) {
    std::fprintf(stderr,
                 "breakstep stops: %s; this is a fault of the program, please report it with the session file\n", what);
    std::abort();
}

}  // namespace breakstep
