// Code that the program does not link is used or gone: each source file of the host leaves its symbols in the program,
// but for those that are named here with the reason why they are kept.
//
// Looks at what is built: an object file of a static library is linked whole or not at all, so a file of which the
// program has no symbol is one that nothing reaches.
#include <doctest/doctest.h>

#include <array>
#include <cstdio>
#include <map>
#include <memory>
#include <set>
#include <sstream>
#include <string>

#include "unit/house/house.hpp"

using namespace house;

namespace {

const fs::path build = fs::path(BREAKSTEP_PROGRAM).parent_path();

/// Not linked yet, and why it stays: each must still be unlinked, or its line goes.
const std::map<std::string, std::string> kept_for_later{
    {"core/leading/move_follow.cpp", "the ninth rung: who follows whom in advance and retreat"},
    {"core/progress/difficulty.cpp", "rungs that settle at a share on time"},
    {"core/progress/learning_curve.cpp", "a term of countering drills: how fast it comes"},
};

/// What a command prints, line by line.
std::vector<std::string> lines_from(const std::string& command) {
    const auto close = [](std::FILE* pipe) { (void)pclose(pipe); };
    const std::unique_ptr<std::FILE, decltype(close)> pipe(popen(command.c_str(), "r"), close);
    REQUIRE(pipe != nullptr);
    std::string text;
    std::array<char, 65536> part{};
    for (std::size_t count = 0; (count = std::fread(part.data(), 1, part.size(), pipe.get())) > 0;)
        text.append(part.data(), count);
    std::vector<std::string> lines;
    std::istringstream in(text);
    for (std::string line; std::getline(in, line);) lines.push_back(line);
    return lines;
}

/// The symbols that each file defines for others: functions and values, no templates or inline functions.
std::map<fs::path, std::set<std::string>> symbols_of(const std::vector<fs::path>& files) {
    std::string command = "nm --print-file-name --defined-only --extern-only";
    for (const fs::path& file : files) command += " '" + file.string() + "'";
    std::map<fs::path, std::set<std::string>> symbols;
    for (const std::string& line : lines_from(command + " 2>/dev/null")) {
        const std::size_t colon = line.rfind(':', line.find(' '));
        std::istringstream words(line.substr(colon + 1));
        std::string address, kind, name;
        words >> address >> kind >> name;
        if (kind == "T" || kind == "D" || kind == "B" || kind == "R") symbols[line.substr(0, colon)].insert(name);
    }
    return symbols;
}

/// Where each source file's object lies, by the source's path below host/. Files that are compiled together
/// (breakstep_together in CMakeLists.txt) share one, and are there or not together.
std::map<std::string, fs::path> objects() {
    std::map<std::string, fs::path> found;
    for (const fs::path& object : files_below(build / "host", {".o"})) {
        // build/host/core/CMakeFiles/breakstep_core.dir/score/score.cpp.o, or .dir/Unity/unity_json_cxx.cxx.o
        const std::string path = fs::relative(object, build / "host").generic_string();
        const std::size_t cmake = path.find("CMakeFiles/"), directory = path.find(".dir/");
        if (cmake == std::string::npos || directory == std::string::npos) continue;
        const fs::path folder = path.substr(0, cmake), below = path.substr(directory + 5, path.size() - directory - 7);
        if (below.generic_string().starts_with("Unity/")) {
            for (const std::string& include : includes_of(object.parent_path() / below.filename()))
                found[fs::relative(include, source / "host").generic_string()] = object;
        } else if (below.generic_string().starts_with("__/")) {
            found[below.generic_string().substr(3)] = object;
        } else {
            found[(folder / below).generic_string()] = object;
        }
    }
    return found;
}

}  // namespace

TEST_CASE("every source file of the host is in the program, or kept for a reason that still holds") {
    const auto built = objects();
    std::vector<fs::path> files{BREAKSTEP_PROGRAM};
    for (const auto& [name, object] : built) files.push_back(object);
    const auto symbols = symbols_of(files);
    const std::set<std::string>& linked = symbols.at(BREAKSTEP_PROGRAM);
    REQUIRE(linked.size() > 1000);
    for (const fs::path& file : files_below(source / "host", {".cpp"})) {
        const std::string name = fs::relative(file, source / "host").generic_string();
        CAPTURE(name);
        const auto object = built.find(name);
        REQUIRE_MESSAGE(object != built.end(), "was never compiled: no library takes it");
        bool used = false;
        if (const auto own = symbols.find(object->second); own != symbols.end())
            for (const std::string& symbol : own->second) used = used || linked.contains(symbol);
        if (kept_for_later.contains(name))
            CHECK_MESSAGE(!used, "is linked now: take its line out of kept_for_later");
        else
            CHECK_MESSAGE(used, "nothing in the program reaches it: use it, or take it away with its tests");
    }
}

TEST_CASE("what is kept for later is there") {
    for (const auto& [name, reason] : kept_for_later) {
        CAPTURE(name);
        CHECK(fs::exists(source / "host" / name));
        CHECK_FALSE(reason.empty());
    }
}
