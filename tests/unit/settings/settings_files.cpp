#include <doctest/doctest.h>

#include <cstdio>
#include <filesystem>
#include <fstream>

#include "app/settings/settings.hpp"
#include "app/settings/toml_tree.hpp"

using namespace breakstep;

namespace {

std::filesystem::path written(const std::string& text) {
    const auto path = std::filesystem::temp_directory_path() / "breakstep_settings_test.toml";
    std::ofstream(path) << text;
    return path;
}

void set_all_known(Settings& settings) {
    settings.club = "x";
    settings.stage = settings.sound = false;
    settings.window_width = 640;
    settings.opponents[1].spread = 0.5;
    settings.opponents[2].lift = {1ms, 1ms, 1ms};
    settings.sound_frames = 64;
}

}  // namespace

TEST_CASE("default.toml holds exactly the built-in defaults") {
    // Every value that the file names is set to something else first, and must come back.
    Settings settings;
    set_all_known(settings);
    REQUIRE(read_settings(config_folder() / "default.toml", settings).has_value());
    CHECK(settings == Settings{});
}

TEST_CASE("default.toml names every key that is known") {
    // A key that is known but not in the file would be named by the list of allowed keys in the error for a wrong one.
    const auto tree = parse_toml_file(config_folder() / "default.toml");
    REQUIRE(tree.has_value());
    const auto names_all = [](const TomlNode& table, const std::string& header) {
        Settings settings;
        const auto read = read_settings(written(header + "zzzzzzzzzzzzzzzz = 1\n"), settings);
        REQUIRE_FALSE(read.has_value());
        std::string allowed = read.error().to_do;
        REQUIRE(allowed.starts_with("allowed are "));
        std::size_t count = 1;
        for (const char c : allowed) count += c == ',' ? 1 : 0;
        CHECK(count == table.members.size());
        for (const auto& member : table.members) CHECK(allowed.find(member.first) != std::string::npos);
    };
    names_all(*tree, "");
    for (const auto& [name, node] : tree->members) {
        if (node.kind != TomlNode::Kind::table) continue;
        names_all(node, "[" + name + "]\n");
        for (const auto& [inner, own] : node.members)
            if (own.kind == TomlNode::Kind::table) names_all(own, "[" + name + "." + inner + "]\n");
    }
}

TEST_CASE("a settings file with one wrong value changes nothing") {
    Settings settings;
    const auto read = read_settings(written("club = \"Reed Bank\"\n[sound]\nframes = 7\n"), settings);
    REQUIRE_FALSE(read.has_value());
    CHECK(read.error().what.find("line 3: sound.frames is 7") != std::string::npos);
    CHECK(read.error().to_do.find("64 to 4096") != std::string::npos);
    CHECK(settings == Settings{});
}

TEST_CASE("a missing settings file that was named is an error") {
    const auto settings = load_settings("/nowhere/settings.toml");
    REQUIRE_FALSE(settings.has_value());
    CHECK(settings.error().kind == ErrorKind::not_found);
}
