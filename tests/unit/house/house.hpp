// What the house's own tests share: the project's files and their lines.
#pragma once

#include <filesystem>
#include <fstream>
#include <set>
#include <string>
#include <vector>

#include "places.hpp"

namespace house {

namespace fs = std::filesystem;

inline const fs::path source = BREAKSTEP_SOURCE_DIR;

inline std::vector<fs::path> files_below(const fs::path& folder,
                                         const std::set<std::string>& endings = {".cpp", ".hpp", ".c", ".h"}) {
    std::vector<fs::path> files;
    for (const auto& entry : fs::recursive_directory_iterator(folder))
        if (endings.contains(entry.path().extension().string())) files.push_back(entry.path());
    return files;
}

inline std::vector<std::string> lines_of(const fs::path& file) {
    std::vector<std::string> lines;
    std::ifstream in(file);
    for (std::string line; std::getline(in, line);) lines.push_back(line);
    return lines;
}

inline std::vector<std::string> includes_of(const fs::path& file) {
    std::vector<std::string> found;
    for (const std::string& line : lines_of(file)) {
        if (!line.starts_with("#include ")) continue;
        const auto open = line.find_first_of("<\"", 9), close = line.find_last_of(">\"");
        if (open != std::string::npos && close > open) found.push_back(line.substr(open + 1, close - open - 1));
    }
    return found;
}

inline bool begins_with_any(const std::string& text, const std::set<std::string>& beginnings) {
    for (const std::string& beginning : beginnings)
        if (text.starts_with(beginning)) return true;
    return false;
}

/// The first line below `folder` that, comments apart, has one of the words: "file, line 7: WORD"; "" if none has.
inline std::string first_with_word(const fs::path& folder, const std::vector<std::string>& words) {
    for (const fs::path& file : files_below(folder)) {
        const auto lines = lines_of(file);
        for (std::size_t i = 0; i < lines.size(); ++i)
            for (const std::string& word : words)
                if (lines[i].substr(0, lines[i].find("//")).find(word) != std::string::npos)
                    return file.string() + ", line " + std::to_string(i + 1) + ": " + word;
    }
    return "";
}

}  // namespace house
