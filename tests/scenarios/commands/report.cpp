// Reports as they are typed: which files come out, which are left alone, the exit codes.
#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "support/room.hpp"

using namespace breakstep::testing;

namespace {

/// A room whose store a.db holds the demo's evening.
const Room& evening_room() {
    static const Room room;
    static const bool made = room.run("demo --fast --store a.db").code == 0;
    REQUIRE(made);
    return room;
}

std::vector<std::string> lines_of(const std::string& text) {
    std::vector<std::string> lines;
    std::istringstream in(text);
    for (std::string line; std::getline(in, line);) lines.push_back(line);
    return lines;
}

std::string bytes_in(const Room& room, const std::string& name) {
    std::ifstream file(room.folder / name, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), {}};
}

}  // namespace

TEST_CASE("report athlete writes one .pdf and prints its path") {
    const Room& room = evening_room();
    const Said said = room.run("report athlete Heron --store a.db --out one");
    CHECK_MESSAGE(said.code == 0, said.err);
    CHECK(said.out == "one/athlete-Heron.pdf\n");
    CHECK(said.err.empty());
    CHECK(bytes_in(room, "one/athlete-Heron.pdf").starts_with("%PDF-"));
}

TEST_CASE("the same report typed twice is the same file to the byte, in every format") {
    const Room& room = evening_room();
    for (const std::string format : {"pdf", "png", "svg"}) {
        const Said first = room.run("report athlete Heron --store a.db --out first --format " + format);
        const Said second = room.run("report athlete Heron --store a.db --out second --format " + format);
        REQUIRE_MESSAGE(first.code == 0, first.err);
        REQUIRE(second.code == 0);
        const auto files = lines_of(first.out), again = lines_of(second.out);
        REQUIRE(files.size() == again.size());
        CHECK(files.size() >= (format == "svg" ? 3 : 1));  // an .svg of each chart too
        for (std::size_t i = 0; i < files.size(); ++i) {
            CAPTURE(files[i]);
            const bool same = bytes_in(room, files[i]) == bytes_in(room, again[i]);
            CHECK(same);
        }
    }
}

TEST_CASE("report athlete --all gives each athlete the file that naming them gives") {
    const Room& room = evening_room();
    const Said all = room.run("report athlete --all --store a.db --out all");
    CHECK_MESSAGE(all.code == 0, all.err);
    CHECK(lines_of(all.out).size() == 4);
    const Said one = room.run("report athlete curlew --store a.db --out all");
    CHECK(one.code == 0);
    CHECK(has(all.out, one.out));
}

TEST_CASE("the group and the last evening are reports too, in grey if wanted") {
    const Room& room = evening_room();
    CHECK(room.run("report group --store a.db --out coach").out == "coach/group.pdf\n");
    const Said evening = room.run("report evening last --store a.db --out coach --format png --grey");
    CHECK_MESSAGE(evening.code == 0, evening.err);
    CHECK(has(evening.out, "coach/evening-2"));
    CHECK(has(evening.out, "-grey.png\n"));
}

TEST_CASE("call-signs that no file may bear, or that come out alike, get files of their own") {
    const Room room;
    for (const char* name : {"'A/B'", "'A\\B'", "'A-B'", "'../up'", "'<b>\"&'"}) {
        const Said added = room.run("athletes add " + std::string(name) + " --store a.db");
        REQUIRE_MESSAGE(added.code == 0, added.err);
        const Said said = room.run("report athlete " + std::string(name) + " --store a.db");
        CHECK_MESSAGE(said.code == 0, said.err);
    }
    std::size_t files = 0;
    for (const auto& entry : std::filesystem::directory_iterator(room.folder / "reports"))
        files += entry.path().extension() == ".pdf" ? 1 : 0;
    CHECK(files == 5);
    CHECK_FALSE(std::filesystem::exists(room.folder / "up.pdf"));
}

TEST_CASE("a file that is no report of ours is left alone unless it may be overwritten") {
    const Room& room = evening_room();
    std::filesystem::create_directories(room.folder / "kept");
    room.write("kept/athlete-Heron.pdf", "a letter");
    const Said refused = room.run("report athlete Heron --store a.db --out kept");
    CHECK(refused.code == 2);
    CHECK(has(refused.err, "kept/athlete-Heron.pdf"));
    CHECK(has(refused.err, "--overwrite"));
    CHECK(bytes_in(room, "kept/athlete-Heron.pdf") == "a letter");
    CHECK(room.run("report athlete Heron --store a.db --out kept --overwrite").code == 0);
    CHECK(room.run("report athlete Heron --store a.db --out kept").code == 0);
}

TEST_CASE("what can't be done is said with what to do, and exit code 2") {
    const Room& room = evening_room();
    const std::vector<std::pair<std::string, std::string>> typed{
        {"report athlete --store a.db", "--all"},
        {"report athlete Heron --all --store a.db", "--all"},
        {"report athlete Nobody --store a.db", "there is no athlete \"Nobody\""},
        {"report evening 2026-02-30 --store a.db", "no date of the calendar"},
        {"report evening 2020-01-07 --store a.db", "the last evening is"},
        {"report athlete Heron --from 2026-02-30 --store a.db", "no date of the calendar"},
        {"report group --group Nobodys --store a.db", "`breakstep athletes list`"},
        {"report athlete Heron --format gif --store a.db", "gif"},
        {"report athlete Heron --store a.db --out a.db", "--out"},
        {"report", "subcommand"}};
    for (const auto& [command, words] : typed) {
        CAPTURE(command);
        const Said said = room.run(command);
        CHECK(said.code == 2);
        CHECK_MESSAGE(has(said.err + said.out, words), said.err);
    }
}
