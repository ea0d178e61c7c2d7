// The directions of the parts, from their includes.
#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <map>
#include <set>
#include <string>
#include <vector>

#include "places.hpp"

namespace fs = std::filesystem;

namespace {

const fs::path source = BREAKSTEP_SOURCE_DIR;

std::vector<std::string> includes_of(const fs::path& file) {
    std::vector<std::string> found;
    std::ifstream in(file);
    for (std::string line; std::getline(in, line);) {
        if (!line.starts_with("#include ")) continue;
        const auto open = line.find_first_of("<\"", 9), close = line.find_last_of(">\"");
        if (open != std::string::npos && close > open) found.push_back(line.substr(open + 1, close - open - 1));
    }
    return found;
}

std::vector<fs::path> files_below(const fs::path& folder) {
    std::vector<fs::path> files;
    for (const auto& entry : fs::recursive_directory_iterator(folder)) {
        const auto extension = entry.path().extension();
        if (extension == ".cpp" || extension == ".hpp" || extension == ".c" || extension == ".h")
            files.push_back(entry.path());
    }
    return files;
}

bool begins_with_any(const std::string& include, const std::set<std::string>& parts) {
    for (const std::string& part : parts)
        if (include.starts_with(part)) return true;
    return false;
}

const std::set<std::string> own_parts{"core/", "files/", "link/",     "devices/", "report/", "store/", "hall/",
                                      "club/", "cli/",   "settings/", "tools/",   "wire/",   "sounds/"};

}  // namespace

TEST_CASE("each part includes only what its direction allows") {
    const std::map<std::string, std::set<std::string>> allowed{
        {"core", {"core/"}},
        {"files", {"core/", "files/"}},
        {"link", {"core/", "link/", "wire/"}},
        {"devices/serial", {"core/", "devices/serial/"}},
        {"devices/audio", {"core/", "devices/audio/"}},
        {"devices/stage", {"core/", "devices/stage/", "report/drawing/"}},
        {"devices/simulated", {"core/", "devices/simulated/", "wire/"}},
        {"report/drawing", {"core/", "files/", "report/drawing/"}},
        {"report/pages", {"core/", "files/", "report/"}},
        {"store", {"core/", "files/", "store/"}},
        {"settings", {"core/", "files/", "settings/"}},
        {"hall", {"core/", "files/", "link/", "devices/", "report/drawing/", "store/", "settings/", "hall/"}},
        {"club", {"core/", "files/", "store/", "settings/", "report/", "club/"}},
        {"cli",
         {"core/", "files/", "link/", "devices/", "report/", "store/", "settings/", "hall/", "club/", "cli/",
          "tools/"}},
    };
    for (const auto& [part, parts] : allowed)
        for (const fs::path& file : files_below(source / "host" / part))
            for (const std::string& include : includes_of(file)) {
                CAPTURE(file.string());
                CAPTURE(include);
                if (begins_with_any(include, own_parts)) CHECK(begins_with_any(include, parts));
            }
}

TEST_CASE(
    "core knows only the standard library and tl::expected, one file of it the distributions; link the wire library "
    "too") {
    for (const char* part : {"core", "link"})
        for (const fs::path& file : files_below(source / "host" / part))
            for (const std::string& include : includes_of(file)) {
                CAPTURE(file.string());
                const bool standard = include.find('/') == std::string::npos && include.find('.') == std::string::npos;
                const bool known = begins_with_any(include, {"core/", "link/", "wire/", "tl/expected.hpp"});
                const bool distributions = file == source / "host/core/progress/distributions.cpp" &&
                                           include.starts_with("boost/math/distributions/");
                CHECK_MESSAGE((standard || known || distributions), include);
                CHECK_MESSAGE(
                    (include != "random" && include != "thread" && include != "fstream" && include != "iostream"),
                    include);
            }
}

TEST_CASE("the protocol's folder includes nothing of the host") {
    for (const fs::path& file : files_below(source / "firmware-protocol"))
        for (const std::string& include : includes_of(file)) {
            CAPTURE(file.string());
            CHECK_FALSE(begins_with_any(include,
                                        {"core/", "link/", "devices/", "report/", "store/", "hall/", "club/", "cli/"}));
        }
}

TEST_CASE("one part writes every file") {
    for (const fs::path& file : files_below(source / "host")) {
        if (file.string().starts_with((source / "host/files").string())) continue;
        std::ifstream in(file);
        int number = 0;
        for (std::string line; std::getline(in, line);) {
            ++number;
            if (line.find("//") != std::string::npos) line.resize(line.find("//"));
            CAPTURE(file.string());
            CAPTURE(number);
            for (const char* word : {"std::ofstream", "std::fstream", "fopen(", "O_TRUNC", "create_directories(",
                                     "cairo_surface_write_to_png("})
                CHECK(line.find(word) == std::string::npos);
        }
    }
}

TEST_CASE("core and link read no clock") {
    for (const char* part : {"core", "link"})
        for (const fs::path& file : files_below(source / "host" / part)) {
            std::ifstream in(file);
            int number = 0;
            for (std::string line; std::getline(in, line);) {
                ++number;
                if (line.find("//") != std::string::npos) line.resize(line.find("//"));
                CAPTURE(file.string());
                CAPTURE(number);
                for (const char* word : {"steady_clock", "system_clock", "high_resolution_clock", "clock_gettime"})
                    CHECK(line.find(word) == std::string::npos);
            }
        }
}
