#include "core/error.hpp"

#include <cstdio>
#include <cstdlib>

namespace breakstep {
namespace {

unsigned char byte_at(std::string_view text, std::size_t at) {
    return at < text.size() ? static_cast<unsigned char>(text[at]) : static_cast<unsigned char>(0);
}

// U+0080 to U+009F are control characters too; in UTF-8 they are C2 and one more byte.
bool is_control(std::string_view text, std::size_t at) {
    const unsigned char byte = byte_at(text, at), next = byte_at(text, at + 1);
    return byte < 0x20 || byte == 0x7F || (byte == 0xC2 && next >= 0x80 && next < 0xA0);
}

}  // namespace

std::string shown_text(std::string_view text, std::size_t longest) {
    constexpr std::string_view digits = "0123456789abcdef";
    std::string shown;
    for (std::size_t at = 0; at < text.size(); ++at) {
        const bool begins_character = (byte_at(text, at) & 0xC0U) != 0x80U;
        if (begins_character && shown.size() >= longest) return shown + "...";
        if (!is_control(text, at)) {
            shown += text[at];
            continue;
        }
        if (byte_at(text, at) == 0xC2) ++at;
        shown += "\\x";
        shown += digits[byte_at(text, at) >> 4U];
        shown += digits[byte_at(text, at) & 0xFU];
    }
    return shown;
}

std::string Error::text() const {
    // Of a long message both parts are shown: what to do is never lost behind what was typed.
    constexpr std::size_t longest = 1000, least = 400;
    const std::size_t to_do_room = to_do.size() < least ? to_do.size() : least;
    std::string line = shown_text(what, longest - to_do_room);
    if (to_do.empty()) return line;
    line += "; ";
    return line + shown_text(to_do, line.size() < longest - least ? longest - line.size() : least);
}

void broken_invariant(const char* what) {
    std::fprintf(stderr,
                 "breakstep stops: %s; this is a fault of the program, please report it with the session file\n", what);
    std::abort();
}

}  // namespace breakstep
