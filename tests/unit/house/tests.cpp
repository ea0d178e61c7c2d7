// The tests themselves: each is run by its name, so the name must be one that reaches it.
#include <doctest/doctest.h>

#include <iterator>
#include <regex>
#include <string>

#include "unit/house/house.hpp"

using namespace house;

// A list of tests is parted by semicolons on its way to ctest: what stands behind one is lost, and a name that matches
// no test passes.
TEST_CASE("no test's name has a semicolon") {
    const std::regex named(R"x(TEST_CASE\(\s*((?:"(?:[^"\\]|\\.)*"\s*)+))x");
    int seen = 0;
    for (const fs::path& file : files_below(source / "tests", {".cpp"})) {
        std::ifstream in(file);
        const std::string text{std::istreambuf_iterator<char>(in), {}};
        for (auto found = std::sregex_iterator(text.begin(), text.end(), named); found != std::sregex_iterator();
             ++found, ++seen) {
            const std::string name = (*found)[1];
            CAPTURE(file.string());
            CHECK_MESSAGE(name.find(';') == std::string::npos, name);
        }
    }
    CHECK(seen > 1000);
}
