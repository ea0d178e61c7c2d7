// A TOML file as a tree of plain values with line numbers, so that the TOML library is included in one file only.
// Values; any thread.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "core/error.hpp"

namespace breakstep {

struct TomlMember;

struct TomlNode {
    enum class Kind : std::uint8_t { table, list, text, integer, real, boolean, other };
    Kind kind = Kind::table;
    int line = 0;
    std::string text;
    std::int64_t integer = 0;
    double real = 0;  ///< of an integer too
    bool boolean = false;
    std::vector<TomlMember> members;  ///< of a table, in the file's order
    std::vector<TomlNode> items;      ///< of a list
};

struct TomlMember {
    std::string key;
    TomlNode node;
};

/// Fails (bad_input) with file and line if the text is no TOML; parse_toml_file also if the file is missing
/// (not_found), is no regular file or above a megabyte (bad_input), or may not be read (system).
[[nodiscard]] Expected<TomlNode> parse_toml(const std::string& text, const std::string& file);
[[nodiscard]] Expected<TomlNode> parse_toml_file(const std::filesystem::path& path);

}  // namespace breakstep
