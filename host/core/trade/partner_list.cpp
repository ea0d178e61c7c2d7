#include "core/trade/partner_list.hpp"

#include "core/trade/vocabulary.hpp"

namespace breakstep {
namespace {

constexpr std::int32_t last_kind = static_cast<std::int32_t>(AttackKind::feint);
constexpr std::string_view nothing = "nothing";

std::string_view trimmed(std::string_view text) {
    while (!text.empty() && text.front() == ' ') text.remove_prefix(1);
    while (!text.empty() && text.back() == ' ') text.remove_suffix(1);
    return text;
}

std::optional<std::int32_t> choice_in(std::string_view typed) {
    if (typed == nothing) return asked_nothing;
    for (std::int32_t kind = 0; kind <= last_kind; ++kind)
        if (word(static_cast<AttackKind>(kind)) == typed) return kind;
    return std::nullopt;
}

}  // namespace

std::optional<PartnerList> partner_list_in(std::string_view text) {
    PartnerList list;
    text = trimmed(text);
    if (!text.empty() && text.front() == '+') {
        list.after = true;
        text.remove_prefix(1);
        if (trimmed(text).empty()) return std::nullopt;
    }
    if (text.empty()) return list;
    for (;;) {
        const std::size_t comma = text.find(',');
        const auto choice = choice_in(trimmed(text.substr(0, comma)));
        if (!choice) return std::nullopt;
        list.choices.push_back(*choice);
        if (comma == std::string_view::npos) return list;
        text.remove_prefix(comma + 1);
    }
}

std::string partner_word(std::int32_t choice) {
    if (choice == asked_nothing) return std::string(nothing);
    if (choice < 0 || choice > last_kind) return "";
    return std::string(word(static_cast<AttackKind>(choice)));
}

}  // namespace breakstep
