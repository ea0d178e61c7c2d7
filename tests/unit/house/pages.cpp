// What README.md and DEVELOPERS.md name is there.
#include <doctest/doctest.h>

#include <regex>
#include <set>
#include <string>

#include "unit/house/house.hpp"

using namespace house;

namespace {

/// Paths below the project that a page names: with a folder of the top level in front ("host/core/time.hpp"), or as an
/// include does, from host/ on ("core/time.hpp").
std::set<std::string> paths_named(const fs::path& page) {
    static const std::regex path(
        R"((^|[^A-Za-z0-9_./~-])((firmware-protocol|host|tests|config|sounds|core|files|link|devices|report|store|settings|hall|club|cli|tools)/[A-Za-z0-9_./{},*-]*[A-Za-z0-9_/}*]))");
    std::set<std::string> named;
    for (const std::string& line : lines_of(page))
        for (std::sregex_iterator at(line.begin(), line.end(), path), end; at != end; ++at) named.insert((*at)[2]);
    return named;
}

/// "score/{state,score}.hpp" names two files; "*" and "NAME" stand for any.
std::vector<std::string> spelt_out(const std::string& path) {
    const std::size_t open = path.find('{'), close = path.find('}', open);
    if (open == std::string::npos || close == std::string::npos) return {path};
    std::vector<std::string> all;
    for (std::size_t at = open + 1; at <= close;) {
        const std::size_t end = std::min(path.find(',', at), close);
        for (const std::string& rest : spelt_out(path.substr(close + 1)))
            all.push_back(path.substr(0, open) + path.substr(at, end - at) + rest);
        at = end + 1;
    }
    return all;
}

bool is_there(std::string path) {
    for (const char* any : {"*", "NAME", "PART"})
        if (path.find(any) != std::string::npos) path.resize(path.rfind('/', path.find(any)));
    for (const fs::path& from : {source, source / "host"})
        for (const char* ending : {"", ".hpp"})
            if (fs::exists(from / (path + ending))) return true;
    return false;
}

}  // namespace

TEST_CASE("every path that README.md and DEVELOPERS.md name is there") {
    for (const char* page : {"README.md", "DEVELOPERS.md"}) {
        const auto named = paths_named(source / page);
        CAPTURE(page);
        CHECK(named.size() > 3);
        for (const std::string& path : named)
            for (const std::string& one : spelt_out(path)) {
                CAPTURE(one);
                CHECK(is_there(one));
            }
    }
}

TEST_CASE("a path that is not there would be found") {
    CHECK_FALSE(is_there("host/app/engine.cpp"));
    CHECK(is_there("core/time.hpp"));
    CHECK(is_there("tests/unit/house/pages.cpp"));
    CHECK(spelt_out("core/{time,error}.hpp") == std::vector<std::string>{"core/time.hpp", "core/error.hpp"});
}

TEST_CASE("DEVELOPERS.md walks one strike from byte to a term's page, and names a file at each step") {
    const std::string heading = "## One strike, from byte to page";
    bool inside = false;
    std::size_t steps = 0;
    for (const std::string& line : lines_of(source / "DEVELOPERS.md")) {
        if (line.starts_with("## ")) inside = line == heading;
        if (!inside || !line.starts_with(std::to_string(steps + 1) + ". ")) continue;
        ++steps;
        CAPTURE(line);
        static const std::regex file(R"(`[a-z_-]+(/[a-z_-]+)*/[a-z0-9_]+\.(cpp|hpp|c|h)`)");
        CHECK(std::regex_search(line, file));
    }
    CHECK(steps >= 8);
}
