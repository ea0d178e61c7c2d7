#include "desk/web/message.hpp"

#include <algorithm>

namespace breakstep::desk {
namespace {

constexpr std::size_t longest_target = 1000, most_fields = 50;

std::optional<int> hexadecimal(char letter) {
    if (letter >= '0' && letter <= '9') return letter - '0';
    if (letter >= 'a' && letter <= 'f') return letter - 'a' + 10;
    if (letter >= 'A' && letter <= 'F') return letter - 'A' + 10;
    return std::nullopt;
}

std::optional<std::string> decoded(std::string_view text) {
    std::string out;
    for (std::size_t i = 0; i < text.size(); ++i) {
        if (text[i] == '+') {
            out += ' ';
        } else if (text[i] != '%') {
            out += text[i];
        } else {
            if (i + 2 >= text.size()) return std::nullopt;
            const auto high = hexadecimal(text[i + 1]), low = hexadecimal(text[i + 2]);
            if (!high || !low) return std::nullopt;
            out += static_cast<char>(16 * *high + *low);
            i += 2;
        }
    }
    return out;
}

bool is_path(std::string_view path) {
    if (path.empty() || path.front() != '/' || path.find("//") != std::string_view::npos ||
        path.find("..") != std::string_view::npos)
        return false;
    return std::all_of(path.begin(), path.end(), [](char c) {
        return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' || c == '.' ||
               c == '_' || c == '/';
    });
}

}  // namespace

std::optional<std::map<std::string, std::string>> form_in(std::string_view text) {
    std::map<std::string, std::string> fields;
    while (!text.empty()) {
        const std::string_view field = text.substr(0, text.find('&'));
        text.remove_prefix(std::min(text.size(), field.size() + 1));
        if (field.empty()) continue;
        const std::size_t equals = std::min(field.find('='), field.size());
        const auto name = decoded(field.substr(0, equals));
        const auto value = decoded(equals < field.size() ? field.substr(equals + 1) : std::string_view());
        if (!name || !value || fields.size() >= most_fields || !fields.emplace(*name, *value).second)
            return std::nullopt;
    }
    return fields;
}

std::optional<Target> target_in(std::string_view text) {
    if (text.size() > longest_target) return std::nullopt;
    const std::size_t mark = text.find('?');
    Target target{std::string(text.substr(0, mark)), {}};
    if (!is_path(target.path)) return std::nullopt;
    if (mark == std::string_view::npos) return target;
    auto query = form_in(text.substr(mark + 1));
    if (!query) return std::nullopt;
    target.query = std::move(*query);
    return target;
}

std::string cookie_in(std::string_view header, std::string_view name) {
    std::string found;
    bool is_there = false;
    while (!header.empty()) {
        std::string_view part = header.substr(0, header.find(';'));
        header.remove_prefix(std::min(header.size(), part.size() + 1));
        while (!part.empty() && part.front() == ' ') part.remove_prefix(1);
        const std::size_t equals = part.find('=');
        if (equals == std::string_view::npos || part.substr(0, equals) != name) continue;
        if (is_there) return "";
        is_there = true;
        found = part.substr(equals + 1);
    }
    return found;
}

std::string html(std::string_view text) {
    std::string out;
    for (const char each : text) {
        switch (each) {
            case '&':
                out += "&amp;";
                break;
            case '<':
                out += "&lt;";
                break;
            case '>':
                out += "&gt;";
                break;
            case '"':
                out += "&quot;";
                break;
            case '\'':
                out += "&#39;";
                break;
            default:
                // A zero is not allowed in HTML; other control bytes are shown by nobody.
                out += static_cast<unsigned char>(each) < ' ' && each != '\n' && each != '\t' ? ' ' : each;
        }
    }
    return out;
}

}  // namespace breakstep::desk
