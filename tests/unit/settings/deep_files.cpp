// Files that would lead a reader astray: keys of 100 kB, tables in tables in tables, texts that look like brackets.
#include <doctest/doctest.h>

#include <string>

#include "settings/drill_file.hpp"
#include "settings/settings.hpp"

using namespace breakstep;

namespace {

std::string repeated(const std::string& text, int times) {
    std::string all;
    for (int i = 0; i < times; ++i) all += text;
    return all;
}

Error refused(const std::string& text) {
    Settings settings;
    const auto read = parse_settings(text, "any.toml", settings);
    REQUIRE_FALSE(read.has_value());
    const auto drill = parse_drill(text, "any.toml", "any", Settings{});
    CHECK_FALSE(drill.has_value());
    return read.error();
}

}  // namespace

TEST_CASE("a key of 100 kB is one unknown key, said in a line") {
    const Error error = refused(std::string(100'000, 'k') + " = 1\n");
    CHECK(error.text().size() < 1100);
    CHECK(error.text().find("line 1") != std::string::npos);
}

TEST_CASE("what lies too deep is refused before anything follows it") {
    for (const std::string& text :
         {repeated("a.", 50'000) + "a = 1\n", "[" + repeated("a.", 50'000) + "a]\n",
          "[[" + repeated("a . ", 50'000) + "a]]\n", "a = " + repeated("[", 50'000) + repeated("]", 50'000) + "\n",
          "a = " + repeated("{a=", 50'000) + "1\n", "a = " + repeated("[{a.b.c.d=\n", 50'000) + "\n",
          repeated("\"a\".", 50'000) + "a = 1\n", "title = \"it's\"\n" + repeated("'a'.", 50'000) + "a = 1\n"})
        CHECK(refused("\n" + text).text().find("too deep") != std::string::npos);
}

TEST_CASE("dots and brackets in texts and comments nest nothing") {
    Settings settings;
    const std::string dots = repeated(".[{", 60);
    const auto read = parse_settings("# " + dots + "\nclub = \"" + dots + "\"  # " + dots + "\n", "any.toml", settings);
    const std::string why = read ? "" : read.error().text();
    CHECK_MESSAGE(read.has_value(), why);
    CHECK(settings.club == dots);
    CHECK(parse_settings("club = '''\n" + dots + "'''\n", "any.toml", settings).has_value());
    CHECK(parse_settings("club = \"a\\\"" + dots + "\"\n", "any.toml", settings).has_value());
}

TEST_CASE("no number is nan or without end") {
    for (const char* number : {"nan", "+nan", "-nan", "inf", "-inf", "1e400", "9223372036854775807", "-1e308"}) {
        CAPTURE(number);
        Settings settings;
        CHECK_FALSE(
            parse_settings(std::string("[opponent.beginner]\nspread = ") + number, "any.toml", settings).has_value());
        CHECK_FALSE(parse_settings(std::string("[opponent.beginner]\nlift_ms = [") + number + ", 100, 200]", "any.toml",
                                   settings)
                        .has_value());
        CHECK_FALSE(parse_drill(std::string("title = \"t\"\nrest_s = ") + number + "\n[[attack]]\nkind = \"single\"\n",
                                "any.toml", "any", Settings{})
                        .has_value());
        CHECK(settings == Settings{});
    }
}
