// Settings: default.toml and the program know the same keys and values; what is wrong is told with file, line and
// range.
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <functional>

#include <doctest/doctest.h>

#include "settings/settings.hpp"
#include "settings/toml_tree.hpp"

using namespace breakstep;

namespace {

// A file that goes away with the test.
class WrittenFile {
  public:
    explicit WrittenFile(const std::string& text) {
        std::string name = (std::filesystem::temp_directory_path() / "breakstep-settings-XXXXXX").string();
        const int descriptor = ::mkstemp(name.data());
        REQUIRE(descriptor >= 0);
        ::close(descriptor);
        path_ = name;
        std::ofstream(path_, std::ios::binary) << text;
    }
    ~WrittenFile() { std::filesystem::remove(path_); }
    WrittenFile(const WrittenFile&) = delete;
    WrittenFile& operator=(const WrittenFile&) = delete;
    [[nodiscard]] const std::filesystem::path& path() const { return path_; }

  private:
    std::filesystem::path path_;
};

Expected<void> read_text(const std::string& text, Settings& settings) {
    const WrittenFile file(text);
    return read_settings(file.path(), settings);
}

Error error_of(const std::string& text) {
    Settings settings;
    const auto read = read_text(text, settings);
    REQUIRE_FALSE(read.has_value());
    CHECK(settings == Settings{});
    CHECK(read.error().kind == ErrorKind::bad_input);
    return read.error();
}

// Other values of a key, at least one of which is allowed.
std::vector<std::string> other_values(const TomlNode& node) {
    switch (node.kind) {
        case TomlNode::Kind::boolean:
            return {node.boolean ? "false" : "true"};
        case TomlNode::Kind::text:
            return {"\"bright\"", "\"0123456789abcdef\"", "\"something else\"", "\"drop\"", "\"spin\"",
                    "\"open\"",   "\"2026-09-01\""};
        case TomlNode::Kind::integer:
        case TomlNode::Kind::real:
            return {std::to_string(node.real + 1), std::to_string(node.integer + 1), std::to_string(node.real / 2)};
        case TomlNode::Kind::list:
            return {"[100, 90, 110]"};
        default:
            return {};
    }
}

// Every key of the tree that holds a value, as the text of a file that sets it alone.
void each_key(const TomlNode& table, const std::string& header,
              const std::function<void(const std::string& name, const TomlNode&, const std::string& before)>& use) {
    for (const auto& [name, node] : table.members) {
        if (node.kind == TomlNode::Kind::table)
            each_key(node, header.empty() ? name : header + "." + name, use);
        else
            use(name, node, header.empty() ? "" : "[" + header + "]\n");
    }
}

TomlNode default_tree() {
    const auto tree = parse_toml_file(config_folder() / "default.toml");
    REQUIRE(tree.has_value());
    return *tree;
}

}  // namespace

TEST_CASE("default.toml holds exactly the built-in defaults, and every key of it is used") {
    Settings changed;
    int keys = 0;
    each_key(default_tree(), "", [&](const std::string& name, const TomlNode& node, const std::string& before) {
        CAPTURE(before);
        CAPTURE(name);
        bool used = false;
        for (const std::string& value : other_values(node)) {
            Settings one;
            if (!read_text(before + name + " = " + value + "\n", one)) continue;
            used = !(one == Settings{});
            REQUIRE(read_text(before + name + " = " + value + "\n", changed).has_value());
            break;
        }
        CHECK(used);
        ++keys;
    });
    CHECK(keys == 53);
    // All of them changed; the file brings all of them back.
    CHECK_FALSE(changed == Settings{});
    REQUIRE(read_settings(config_folder() / "default.toml", changed).has_value());
    CHECK(changed == Settings{});
}

TEST_CASE("default.toml names every key that is known") {
    // A key that is known but not in the file would be named by the list of allowed keys in the error for a wrong one.
    const auto names_all = [](const TomlNode& table, const std::string& header) {
        const std::string allowed = error_of(header + "zzzzzzzzzzzzzzzz = 1\n").to_do;
        REQUIRE(allowed.starts_with("allowed are "));
        std::size_t count = 1;
        for (const char c : allowed) count += c == ',' ? 1 : 0;
        CHECK(count == table.members.size());
        for (const auto& member : table.members) CHECK(allowed.find(member.key) != std::string::npos);
    };
    const TomlNode tree = default_tree();
    names_all(tree, "");
    for (const auto& [name, node] : tree.members) {
        if (node.kind != TomlNode::Kind::table || name == "measures") continue;  // whose keys are the club's own
        names_all(node, "[" + name + "]\n");
        for (const auto& [inner, own] : node.members)
            if (own.kind == TomlNode::Kind::table) names_all(own, "[" + name + "." + inner + "]\n");
    }
}

TEST_CASE("what is claimed of a term can be set, measures by their own names") {
    Settings settings;
    REQUIRE(read_text("[progress]\nmeasure = \"jump cm\"\nmoment = \"gap\"\nfrom = \"2026-09-01\"\n"
                      "[measures]\n\"jump cm\".better = \"higher\"\n[measures.reaction_ms]\nbetter = \"lower\"\n",
                      settings)
                .has_value());
    CHECK(settings.claimed.measure == "jump cm");
    CHECK(settings.claimed.moment == Moment::gap);
    CHECK_FALSE(settings.claimed.counter);
    CHECK(settings.term_from == "2026-09-01");
    CHECK(settings.claimed.better == std::map<std::string, progress::Better>{{"jump cm", progress::Better::higher},
                                                                             {"reaction_ms", progress::Better::lower}});
    CHECK(error_of("[measures.reaction_ms]\n").what.find("measures.reaction_ms.better is missing") !=
          std::string::npos);
    CHECK(error_of("[measures]\nreaction_ms.better = \"up\"\n").to_do.find("lower") != std::string::npos);
    CHECK(error_of("[measures]\nreaction_ms = \"lower\"\n").what.find("measures.reaction_ms") != std::string::npos);
    CHECK(error_of("[progress]\nfrom = \"2023-02-29\"\n").to_do.find("year-month-day") != std::string::npos);
}

TEST_CASE("a wrong value is told with file, line, key and what is allowed") {
    struct Case {
        const char *text, *what, *to_do;
    };
    for (const Case& wrong : {
             Case{"club = \"Reed Bank\"\n[sound]\nframes = 7\n", "line 3: sound.frames is 7", "64 to 4096"},
             Case{"[sound]\nframes = 256.5", "line 2: sound.frames is no whole number", "64 to 4096"},
             Case{"[sound]\nframes = \"256\"", "line 2: sound.frames is no whole number", "64 to 4096"},
             Case{"[sound]\nframes = 99999999999999", "line 2: sound.frames is 99999999999999", "64 to 4096"},
             Case{"[sound]\ndelay_ms = nan", "line 2: sound.delay_ms is nan", "0 to 500"},
             Case{"[sound]\ndelay_ms = -1", "line 2: sound.delay_ms is -1", "0 to 500"},
             Case{"[stage]\nspread_ms = -0.5", "line 2: stage.spread_ms is below 0", "-1 for not measured"},
             Case{"[stage]\nhall = \"brigth\"", "line 2: stage.hall is \"brigth\"", "did you mean \"bright\"?"},
             Case{"[stage]\nfullscren = true", "line 2: stage.fullscren is no key", "did you mean fullscreen?"},
             Case{"[stage]\nshown = 1", "line 2: stage.shown is neither", "true or false"},
             Case{"stage = true", "line 1: stage is no table", "[stage]"},
             Case{"[rig]\nboard = \"12\"", "line 2: rig.board is no identity", "16 hexadecimal digits"},
             Case{"club = \"a\\nb\"", "line 1: club is not one line", "200 characters"},
             Case{"[opponent.beginner]\nlift_ms = [100, 110, 120]", "line 2: opponent.beginner.lift_ms is [100, 110",
                  "[mean, shortest, longest]"},
             Case{"[opponent.beginner]\nlift_ms = [100, 90]", "lift_ms is no list of three",
                  "[mean, shortest, longest]"},
             Case{"[opponent.expert]\n", "opponent.expert is no key", "allowed are advanced, beginner, intermediate"},
             Case{"club = 1979-05-27", "line 1: club is no text", "double quotes"},
             Case{"club = \"a\"\nclub = \"b\"", "line 2: ", "mend that line"},
         }) {
        CAPTURE(wrong.text);
        const Error error = error_of(wrong.text);
        CAPTURE(error.text());
        CHECK(error.what.find(wrong.what) != std::string::npos);
        CHECK(error.to_do.find(wrong.to_do) != std::string::npos);
        CHECK(error.what.starts_with("/"));
    }
}

TEST_CASE("of several faults the first in the file is told, and how many there are") {
    const Error error = error_of("[sound]\nframes = 7\n[stage]\nwidth = 1\n[zound]\n");
    CHECK(error.what.find("line 2: sound.frames") != std::string::npos);
    CHECK(error.to_do.find("(then 2 more in this file)") != std::string::npos);
}

TEST_CASE("later files go over earlier ones, key by key") {
    namespace fs = std::filesystem;
    std::string folder = (fs::temp_directory_path() / "breakstep-own-XXXXXX").string();
    REQUIRE(::mkdtemp(folder.data()) != nullptr);
    fs::create_directories(fs::path(folder) / "breakstep");
    std::ofstream(fs::path(folder) / "breakstep" / "settings.toml")
        << "club = \"own\"\nstore = \"~/evenings.store\"\n[sound]\nframes = 480\nspread_ms = 2\n";
    ::setenv("XDG_CONFIG_HOME", folder.c_str(), 1);
    const WrittenFile given("club = \"given\"\n[sound]\nspread_ms = -1\n");
    const auto settings = load_settings(given.path().string());
    const auto without = load_settings("");
    std::ofstream(fs::path(folder) / "breakstep" / "settings.toml") << "clob = 1\n";
    const auto broken = load_settings("");
    ::unsetenv("XDG_CONFIG_HOME");
    fs::remove_all(folder);
    REQUIRE(settings.has_value());
    CHECK(settings->club == "given");
    CHECK(settings->sound_frames == 480);
    CHECK(settings->sound_spread == unknown_uncertainty);
    CHECK(settings->window_width == 1280);
    CHECK(settings->store == std::string(std::getenv("HOME")) + "/evenings.store");
    REQUIRE(without.has_value());
    CHECK(without->club == "own");
    CHECK(without->sound_spread == 2ms);
    REQUIRE_FALSE(broken.has_value());
    CHECK(broken.error().what.find("breakstep/settings.toml, line 1: clob") != std::string::npos);
}

TEST_CASE("a settings file that was named and can't be read is an error") {
    CHECK(load_settings("/nowhere/settings.toml").error().kind == ErrorKind::not_found);
    CHECK(load_settings("/tmp").error().kind == ErrorKind::bad_input);
    CHECK(load_settings("/dev/zero").error().kind == ErrorKind::bad_input);
}
