#include "settings/toml_tree.hpp"

#include <toml++/toml.h>

#include <algorithm>
#include <string_view>

#include "files/reading.hpp"

namespace breakstep {
namespace {

TomlNode node_from(const toml::node& from) {
    TomlNode node;
    node.line = static_cast<int>(from.source().begin.line);
    if (const auto* table = from.as_table()) {
        for (const auto& [key, value] : *table) node.members.push_back({std::string(key.str()), node_from(value)});
        // The library sorts by name; errors and lists follow the file.
        std::stable_sort(node.members.begin(), node.members.end(),
                         [](const auto& a, const auto& b) { return a.node.line < b.node.line; });
    } else if (const auto* array = from.as_array()) {
        node.kind = TomlNode::Kind::list;
        for (const auto& item : *array) node.items.push_back(node_from(item));
    } else if (const auto* text = from.as_string()) {
        node.kind = TomlNode::Kind::text;
        node.text = text->get();
    } else if (const auto* integer = from.as_integer()) {
        node.kind = TomlNode::Kind::integer;
        node.integer = integer->get();
        node.real = static_cast<double>(node.integer);
    } else if (const auto* real = from.as_floating_point()) {
        node.kind = TomlNode::Kind::real;
        node.real = real->get();
    } else if (const auto* boolean = from.as_boolean()) {
        node.kind = TomlNode::Kind::boolean;
        node.boolean = boolean->get();
    } else {
        node.kind = TomlNode::Kind::other;
    }
    return node;
}

// Tables within tables go as deep as a key has parts, and each costs the library room on the stack. Ours have three.
constexpr int key_parts_max = 8, nesting_max = 16;

/// Looks through the text for keys of too many parts and for brackets that are nested too deep, before it is parsed.
class DepthLimit {
  public:
    explicit DepthLimit(const std::string& text) : text_(text) {}

    /// The line of the first place that is too deep; 0 for none.
    int line_too_deep() {
        while (at_ < text_.size()) {
            const char character = text_[at_];
            if (character == '"' || character == '\'')
                skip_text(character);
            else if (character == '#')
                at_ = std::min(text_.find('\n', at_), text_.size());
            else if (!take(character))
                return line_;
        }
        return 0;
    }

  private:
    bool take(char character) {
        ++at_;
        if (character == '\n') ++line_;
        if (character == '.') return ++dots_ < key_parts_max;
        if (std::string_view("=,[]{}\n").find(character) != std::string_view::npos) dots_ = 0;
        if (character == '[' || character == '{') return ++nested_ <= nesting_max;
        if ((character == ']' || character == '}') && nested_ > 0) --nested_;
        return true;
    }
    void skip_text(char quote) {
        const std::string three(3, quote);
        const bool long_text = text_.compare(at_, 3, three) == 0;
        at_ += long_text ? 3 : 1;
        while (at_ < text_.size()) {
            if (text_[at_] == '\n') {
                if (!long_text) return;
                ++line_;
            }
            if (text_[at_] == '\\' && quote == '"') {
                at_ += 2;
                continue;
            }
            if (long_text ? text_.compare(at_, 3, three) == 0 : text_[at_] == quote) {
                at_ += long_text ? 3 : 1;
                return;
            }
            ++at_;
        }
    }

    const std::string& text_;
    std::size_t at_ = 0;
    int line_ = 1, dots_ = 0, nested_ = 0;
};

}  // namespace

Expected<TomlNode> parse_toml(const std::string& text, const std::string& file) {
    if (const int line = DepthLimit(text).line_too_deep(); line > 0)
        return failure(ErrorKind::bad_input,
                       file + ", line " + std::to_string(line) + ": tables are nested too deep there",
                       "mend that line");
    try {
        return node_from(toml::parse(text, file));
    } catch (const toml::parse_error& problem) {
        return failure(
            ErrorKind::bad_input,
            file + ", line " + std::to_string(problem.source().begin.line) + ": " + std::string(problem.description()),
            "mend that line");
    }
}

Expected<TomlNode> parse_toml_file(const std::filesystem::path& path) {
    constexpr std::size_t largest = std::size_t{1} << 20U;
    auto text = files::read_whole(path, largest);
    if (text) return parse_toml(*text, path.string());
    switch (text.error().kind) {
        case ErrorKind::not_found:
            return failure(ErrorKind::not_found, "there is no file " + path.string(), "check its name");
        case ErrorKind::bad_input:
            return failure(ErrorKind::bad_input, path.string() + " is no file of settings or a drill",
                           "name a text file of at most a megabyte");
        default:
            return tl::make_unexpected(text.error());
    }
}

}  // namespace breakstep
