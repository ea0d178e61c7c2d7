#include "store/call_sign.hpp"

#include <utf8proc.h>

#include <cstdint>
#include <cstdlib>
#include <memory>
#include <vector>

namespace breakstep {

namespace {

std::vector<utf8proc_int32_t> characters_of(std::string_view text) {
    std::vector<utf8proc_int32_t> characters;
    const auto* bytes = reinterpret_cast<const utf8proc_uint8_t*>(text.data());
    for (std::size_t at = 0; at < text.size();) {
        utf8proc_int32_t character = 0;
        const auto length = utf8proc_iterate(bytes + at, static_cast<utf8proc_ssize_t>(text.size() - at), &character);
        if (length <= 0) break;
        characters.push_back(character);
        at += static_cast<std::size_t>(length);
    }
    return characters;
}

bool is_joiner(utf8proc_int32_t character) { return character == 0x200C || character == 0x200D; }

// Hangul's fillers and the empty braille cell are letters and a symbol that show nothing.
bool shows_nothing(utf8proc_int32_t character) {
    switch (utf8proc_category(character)) {
        case UTF8PROC_CATEGORY_CF:
        case UTF8PROC_CATEGORY_ZL:
        case UTF8PROC_CATEGORY_ZP:
        case UTF8PROC_CATEGORY_CO:
        case UTF8PROC_CATEGORY_CN:
            return true;
        default:
            // Selectors of a variant, and marks that join: Default_Ignorable_Code_Point of the Unicode standard.
            return character == 0x034F || character == 0x17B4 || character == 0x17B5 ||
                   (character >= 0xFE00 && character <= 0xFE0F) || (character >= 0xE0100 && character <= 0xE01EF) ||
                   character == 0x115F || character == 0x1160 || character == 0x3164 || character == 0xFFA0 ||
                   character == 0x2800;
    }
}

bool is_wide_space(utf8proc_int32_t character) {
    return character != ' ' && utf8proc_category(character) == UTF8PROC_CATEGORY_ZS;
}

bool is_mark(utf8proc_int32_t character) {
    const utf8proc_category_t category = utf8proc_category(character);
    return category == UTF8PROC_CATEGORY_MN || category == UTF8PROC_CATEGORY_MC || category == UTF8PROC_CATEGORY_ME;
}

}  // namespace

std::string call_sign_key(std::string_view call_sign) {
    utf8proc_uint8_t* mapped = nullptr;
    constexpr int options = UTF8PROC_STABLE | UTF8PROC_COMPOSE | UTF8PROC_COMPAT | UTF8PROC_CASEFOLD | UTF8PROC_IGNORE;
    const auto length =
        utf8proc_map(reinterpret_cast<const utf8proc_uint8_t*>(call_sign.data()),
                     static_cast<utf8proc_ssize_t>(call_sign.size()), &mapped, static_cast<utf8proc_option_t>(options));
    const std::unique_ptr<utf8proc_uint8_t, void (*)(void*)> owned(mapped, std::free);
    if (length < 0) return std::string(call_sign);
    return {reinterpret_cast<const char*>(mapped), static_cast<std::size_t>(length)};
}

bool has_hidden_mark(std::string_view text) {
    const std::vector<utf8proc_int32_t> characters = characters_of(text);
    // An edge that shows nothing makes a twin; a mark with no letter before it stands on whatever is printed before.
    if (!characters.empty() &&
        (is_wide_space(characters.front()) || is_wide_space(characters.back()) || is_mark(characters.front())))
        return true;
    for (std::size_t i = 0; i < characters.size(); ++i) {
        if (!shows_nothing(characters[i])) continue;
        const bool between =
            i > 0 && i + 1 < characters.size() && characters[i - 1] >= 0x80 && characters[i + 1] >= 0x80;
        if (!is_joiner(characters[i]) || !between) return true;
    }
    return false;
}

}  // namespace breakstep
