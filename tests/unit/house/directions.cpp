// The directions of the parts, from their includes.
#include <doctest/doctest.h>

#include <map>
#include <set>
#include <string>

#include "unit/house/house.hpp"

using namespace house;

namespace {

const std::set<std::string> own_parts{"core/", "files/", "link/", "devices/",  "report/", "store/", "hall/",
                                      "club/", "desk/",  "cli/",  "settings/", "tools/",  "wire/",  "sounds/"};

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
        {"hall", {"core/", "files/", "link/", "wire/", "devices/", "report/drawing/", "store/", "settings/", "hall/"}},
        {"club", {"core/", "files/", "store/", "settings/", "report/", "club/"}},
        {"desk", {"core/", "files/", "report/drawing/", "hall/evening/evening_view.hpp", "club/results/", "desk/"}},
        {"cli",
         {"core/", "files/", "link/", "devices/", "report/", "store/", "settings/", "hall/", "club/", "desk/", "cli/",
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
    "core knows only the standard library and tl::expected, one file of it the distributions, link the wire library "
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

// Which folder of core may include which, below all of them its own files (time, error, random, ...). A folder may
// always include itself; what is allowed is listed whole, so that no way leads round.
const std::map<std::string, std::set<std::string>> core_directions{
    {"trade", {}},
    {"journal", {"trade"}},
    {"leg", {"trade"}},
    {"ladder", {"trade"}},
    {"reading", {"trade"}},
    {"leading", {"trade", "reading"}},
    {"score", {"trade", "journal", "reading", "leg", "leading"}},
    {"conduct", {"trade", "journal", "reading", "leg", "leading", "score"}},
    {"progress", {"trade", "reading", "ladder", "leading"}},
    {"evening", {"trade", "journal"}},
    {"copying", {"trade", "journal", "leg", "reading", "leading", "score"}},
    {"advice", {"trade", "journal", "leg", "reading", "score", "progress", "ladder", "leading"}},
};

TEST_CASE("core's folders include each other one way only") {
    for (const auto& [folder, allowed] : core_directions)
        for (const fs::path& file : files_below(source / "host/core" / folder))
            for (const std::string& include : includes_of(file)) {
                if (!include.starts_with("core/") || include.find('/', 5) == std::string::npos) continue;
                const std::string to = include.substr(5, include.find('/', 5) - 5);
                CAPTURE(file.string());
                CAPTURE(include);
                CHECK((to == folder || allowed.contains(to)));
            }
    for (const auto& entry : fs::directory_iterator(source / "host/core")) {
        CAPTURE(entry.path().string());
        if (entry.is_directory()) CHECK(core_directions.contains(entry.path().filename().string()));
        if (entry.is_directory() || entry.path().extension() == ".txt") continue;
        for (const std::string& include : includes_of(entry.path()))
            CHECK((!include.starts_with("core/") || include.find('/', 5) == std::string::npos));
    }
}

TEST_CASE("no way through core's directions comes back") {
    for (const auto& [folder, allowed] : core_directions)
        for (const std::string& below : allowed) {
            CAPTURE(folder);
            CAPTURE(below);
            REQUIRE(core_directions.contains(below));
            for (const std::string& deeper : core_directions.at(below)) CHECK(allowed.contains(deeper));
            CHECK_FALSE(core_directions.at(below).contains(folder));
        }
}

TEST_CASE("hall, club and desk print nothing and know no exit codes: they give values and errors") {
    for (const char* part : {"hall", "club", "desk"})
        CHECK(first_with_word(source / "host" / part, {"<iostream>", "std::cout", "std::cerr", "std::clog", "printf(",
                                                       "fputs(", "puts(", "STDOUT_FILENO", "STDERR_FILENO", "ExitCode",
                                                       "exit_", "std::exit(", "complain("}) == "");
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
