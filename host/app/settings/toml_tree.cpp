#include "app/settings/toml_tree.hpp"

#include <toml++/toml.h>

#include <algorithm>
#include <fstream>
#include <iterator>

namespace breakstep {
namespace {

TomlNode node_from(const toml::node& from) {
    TomlNode node;
    node.line = static_cast<int>(from.source().begin.line);
    if (const auto* table = from.as_table()) {
        for (const auto& [key, value] : *table) node.members.emplace_back(std::string(key.str()), node_from(value));
        // The library sorts by name; errors and lists follow the file.
        std::stable_sort(node.members.begin(), node.members.end(),
                         [](const auto& a, const auto& b) { return a.second.line < b.second.line; });
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

}  // namespace

Expected<TomlNode> parse_toml(const std::string& text, const std::string& file) {
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
    std::ifstream file(path, std::ios::binary);
    if (!file || std::filesystem::is_directory(path))
        return failure(ErrorKind::not_found, "the file " + path.string() + " can't be read",
                       "check its name and that you may read it");
    return parse_toml(std::string(std::istreambuf_iterator<char>(file), {}), path.string());
}

}  // namespace breakstep
