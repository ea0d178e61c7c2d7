#include "app/settings/toml_tree.hpp"

#include <toml++/toml.h>

#include <algorithm>
#include <fstream>
#include <iterator>
#include <optional>
#include <string_view>
#include <system_error>

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

// How deep a text would nest, before the library follows it: its tables end one inside the other, and so does this
// program's stack. Looks at brackets and at the dots of a key, outside texts and comments. Returns the line that goes
// too deep.
class DepthScan {
  public:
    explicit DepthScan(std::string_view text) : rest_(text) {}

    [[nodiscard]] std::optional<int> too_deep_in() {
        while (!rest_.empty()) {
            if (brackets_ > brackets_most || dots_ > dots_most) return line_;
            look();
        }
        return std::nullopt;
    }

  private:
    static constexpr int brackets_most = 16, dots_most = 16;

    void look() {
        const char next = rest_.front();
        if (next == '#') return skip(rest_.find('\n'));
        if (next == '"' || next == '\'') return skip_text(next);
        if (next == '[' || next == '{') ++brackets_;
        if (next == ']' || next == '}') --brackets_;
        if (next == '.') ++dots_;
        if (std::string_view("=,[]{}\n").find(next) != std::string_view::npos) dots_ = 0;
        skip(1);
    }
    void skip_text(char quote) {
        const std::string thrice(3, quote);
        const bool many_lines = rest_.starts_with(thrice);
        skip(many_lines ? 3 : 1);
        while (!rest_.empty() && !(many_lines ? rest_.starts_with(thrice) : rest_.front() == quote)) {
            if (!many_lines && rest_.front() == '\n') return;
            skip(quote == '"' && rest_.front() == '\\' ? 2 : 1);
        }
        skip(many_lines ? 3 : 1);
    }
    void skip(std::size_t bytes) {
        const std::string_view over = rest_.substr(0, bytes);
        line_ += static_cast<int>(std::count(over.begin(), over.end(), '\n'));
        rest_.remove_prefix(over.size());
    }

    std::string_view rest_;
    int line_ = 1, brackets_ = 0, dots_ = 0;
};

}  // namespace

Expected<TomlNode> parse_toml(const std::string& text, const std::string& file) {
    if (const auto line = DepthScan(text).too_deep_in())
        return failure(
            ErrorKind::bad_input,
            file + ", line " + std::to_string(*line) + ": tables, lists or dotted keys lie too deep in each other",
            "no drill and no setting needs more than three levels");
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
    constexpr std::uintmax_t largest = 1U << 20U;
    std::error_code problem;
    if (!std::filesystem::exists(path, problem))
        return failure(ErrorKind::not_found, "there is no file " + path.string(), "check its name");
    if (!std::filesystem::is_regular_file(path, problem) || std::filesystem::file_size(path, problem) > largest)
        return failure(ErrorKind::bad_input, path.string() + " is no file of settings or a drill",
                       "name a text file of at most a megabyte");
    std::ifstream file(path, std::ios::binary);
    if (!file)
        return failure(ErrorKind::system, "the file " + path.string() + " can't be read", "check that you may read it");
    return parse_toml(std::string(std::istreambuf_iterator<char>(file), {}), path.string());
}

}  // namespace breakstep
