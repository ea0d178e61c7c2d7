#include <doctest/doctest.h>

#include <fstream>
#include <set>

#include "app/settings/drill_file.hpp"

using namespace breakstep;

namespace {

const std::string good = R"(title = "a drill"
level = "beginner"

[[attack]]
kind = "single"
moment = "drop"
)";

Error error_of(const std::string& text) {
    const auto drill = parse_drill(text, "drill.toml", "drill", Settings{});
    REQUIRE_FALSE(drill.has_value());
    return drill.error();
}

}  // namespace

TEST_CASE("every shipped drill can be read, and no two share a title") {
    const auto drills = list_drills(Settings{});
    REQUIRE_MESSAGE(drills.has_value(), (drills ? "" : drills.error().text()));
    CHECK(drills->size() >= 10);
    std::set<std::string> titles;
    for (const Drill& drill : *drills) titles.insert(drill.title);
    CHECK(titles.size() == drills->size());
}

TEST_CASE("a drill file says what it asks for") {
    const auto drill = parse_drill(good, "drill.toml", "drill", Settings{});
    REQUIRE(drill.has_value());
    CHECK(drill->title == "a drill");
    CHECK(drill->level == Level::beginner);
    CHECK(drill->opponent == opponent_defaults(Level::beginner));
    REQUIRE(drill->attacks.size() == 1);
    CHECK(drill->attacks[0].moment == Moment::drop);
}

TEST_CASE("an unknown key is an error that names file, line, key and the nearest known one") {
    const Error error = error_of("titel = \"x\"\n" + good);
    CHECK(error.kind == ErrorKind::bad_input);
    CHECK(error.what.find("drill.toml, line 1: titel") != std::string::npos);
    CHECK(error.to_do.find("did you mean title?") != std::string::npos);
}

TEST_CASE("a value out of range is an error that names the range") {
    const Error error = error_of("reps = 0\n" + good);
    CHECK(error.what.find("line 1: reps is 0") != std::string::npos);
    CHECK(error.to_do.find("1 to 60") != std::string::npos);
}

TEST_CASE("a word that is none of the allowed is an error that lists them") {
    const Error error = error_of("title = \"x\"\n[[attack]]\nkind = \"jump\"\nmoment = \"drop\"\n");
    CHECK(error.what.find("line 3: attack.kind is \"jump\"") != std::string::npos);
    CHECK(error.to_do.find("\"rebound\"") != std::string::npos);
}

TEST_CASE("drills that make no sense are refused with the reason") {
    CHECK(error_of("title = \"x\"\n").what.find("attack is missing") != std::string::npos);
    CHECK(error_of("start = \"pattern\"\n" + good).what.find("no steps") != std::string::npos);
    CHECK(error_of("wait_cap_s = 1\n" + good).what.find("not above wait_minimum_s") != std::string::npos);
    CHECK(error_of("test = true\nstart = \"drawn\"\n" + good).what.find("test needs start") != std::string::npos);
    CHECK(error_of("lamps = false\nsound = false\nscreen = false\n" + good).what.find("nothing would cue") !=
          std::string::npos);
    CHECK(error_of("title = \"x\"\n[[attack]]\nkind = \"feint\"\n").what.find("feints only") != std::string::npos);
    CHECK(error_of("title = \"x\"\n[[attack]]\nkind = \"single\"\nrebounds = 2\n").what.find("rebounds belongs") !=
          std::string::npos);
}

TEST_CASE("a name that is no drill lists those there are") {
    const auto drill = load_drill("drop-of-a-singel-kick", Settings{});
    REQUIRE_FALSE(drill.has_value());
    CHECK(drill.error().kind == ErrorKind::not_found);
    CHECK(drill.error().to_do.find("drop-of-a-single-kick") != std::string::npos);
}

TEST_CASE("each shipped drill with one line broken is an error with its line, or still a drill, never a crash") {
    const auto drills = list_drills(Settings{});
    REQUIRE(drills.has_value());
    int errors = 0;
    for (const Drill& drill : *drills) {
        std::ifstream file(config_folder() / "drills" / (drill.name + ".toml"));
        std::vector<std::string> lines;
        for (std::string line; std::getline(file, line);) lines.push_back(line);
        for (std::size_t i = 0; i < lines.size(); ++i)
            for (const char* breakage : {"= =", "no equals sign", "[", "x = \"", "\xff\xfe", "reps = 1e99", ""}) {
                std::string text;
                for (std::size_t k = 0; k < lines.size(); ++k) text += (k == i ? breakage : lines[k]) + "\n";
                const auto read = parse_drill(text, "broken.toml", "broken", Settings{});
                if (read) continue;
                ++errors;
                CHECK(read.error().what.find("broken.toml, line ") == 0);
                CHECK_FALSE(read.error().to_do.empty());
            }
    }
    CHECK(errors > 500);
}
