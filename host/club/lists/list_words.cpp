#include "club/lists/list_words.hpp"

#include <fmt/format.h>

#include <cmath>

#include "club/csv/csv.hpp"

namespace breakstep {
namespace {

bool begins_character(char byte) { return (static_cast<unsigned char>(byte) & 0xC0U) != 0x80U; }

}  // namespace

std::string shown_cell(std::string_view text) {
    constexpr std::size_t most = 40;
    std::string shown;
    std::size_t characters = 0;
    for (std::size_t at = 0; at < text.size(); ++at) {
        if (begins_character(text[at]) && ++characters > most) return shown + "...";
        const auto byte = static_cast<unsigned char>(text[at]);
        // U+0080 to U+009F are control characters too; in UTF-8 they are C2 and one more byte.
        const bool second = byte == 0xC2 && at + 1 < text.size() && static_cast<unsigned char>(text[at + 1]) < 0xA0;
        if (second) ++at;
        shown += byte < 0x20 || byte == 0x7F || second ? '?' : text[at];
    }
    return shown;
}

std::string padded(std::string_view text, std::size_t width) {
    std::size_t characters = 0;
    for (const char byte : text) characters += begins_character(byte) ? 1 : 0;
    return std::string(text) + std::string(characters < width ? width - characters : 0, ' ');
}

std::string wealth_words(double log_wealth) {
    static const double large = std::log(1e6), small = std::log(1e-3);
    if (log_wealth < large && log_wealth > small) return fmt::format("{:.3g}", std::exp(log_wealth));
    const double decades = log_wealth / std::log(10.0);
    return fmt::format("10^{:.1f}", decades);
}

Expected<ListText> text_of_list(const std::string& file) {
    if (file.empty())
        return failure(ErrorKind::bad_input, "no list was named", "name a CSV file, or - for standard input");
    auto text = read_file(file);
    if (!text) return failure(ErrorKind::bad_input, text.error().what, text.error().to_do);
    return ListText{std::move(*text), file == "-" ? "standard input" : file};
}

}  // namespace breakstep
