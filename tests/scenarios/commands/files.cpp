// Files and stores that get in the way of the commands, as they are typed: nothing foreign is harmed, and what could
// not be written is told by the exit code.
#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>
#include <string>

#include "places.hpp"
#include "store/store.hpp"
#include "stored.hpp"

using namespace breakstep;
using namespace breakstep::testing;
using nlohmann::json;
namespace fs = std::filesystem;

namespace {

std::string bytes(const fs::path& path) {
    std::ifstream file(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), {}};
}

const std::string data = std::string(BREAKSTEP_SOURCE_DIR) + "/tests/data/store/";

/// The store of the third version, or what it was before a later step.
void make_old_store(const Room& room, int version) {
    std::string more;
    if (version < 3) more += "ALTER TABLE reps DROP COLUMN retreated;";
    if (version < 2) more += "DROP TABLE measures; DROP TABLE backups;";
    more += "PRAGMA user_version = " + std::to_string(version) + ";";
    REQUIRE(std::system(("cd " + room.folder.string() +
                         " && python3 -c \"import sqlite3; d = sqlite3.connect('a.db'); "
                         "d.executescript(open('" +
                         data + "version_3.sql').read()); d.executescript('" + more + "')\"")
                            .c_str()) == 0);
}

}  // namespace

TEST_CASE("a capture never takes the place of a file, the store least of all") {
    const Room room;
    REQUIRE(room.run("demo --headless --fast --seed 3 --store a.db").code == 0);
    room.write("letter.txt", "a letter\n");
    const std::string store = bytes(room.folder / "a.db");
    for (const char* file : {"a.db", "letter.txt", "."}) {
        CAPTURE(file);
        const Said said = room.run(std::string("drill feints --rig simulated --fast --store a.db --capture ") + file);
        CHECK(said.code == 2);
        CHECK(has(said.err, "is there already"));
    }
    CHECK(bytes(room.folder / "a.db") == store);
    CHECK(bytes(room.folder / "letter.txt") == "a letter\n");
}

TEST_CASE("a folder, a device and a broken file are told by replay, timeable and import, and don't hang or end them") {
    const Room room;
    fs::create_directory(room.folder / "folder");
    for (const char* command :
         {"replay folder", "replay /dev/zero", "timeable folder", "timeable /dev/zero", "import folder",
          "import /dev/zero", "drill folder.toml --rig simulated --fast", "demo --fast --headless --settings folder",
          "athletes import-list folder", "restore folder --store a.db", "rescue new.db --store folder"}) {
        CAPTURE(command);
        const Said said = room.run(command);
        CHECK(said.code == 2);
        CHECK(has(said.err, "breakstep"));
    }
}

TEST_CASE(
    "a store that the system can't look at is told by what the system says, not as one that is missing or foreign") {
    const Room room;
    REQUIRE(room.run("demo --headless --fast --seed 3 --store a.db").code == 0);
    fs::create_symlink("loop.db", room.folder / "loop.db");
    for (const char* command : {"progress --store loop.db", "check --store loop.db", "restore loop.db --store b.db",
                                "export --store loop.db -"}) {
        CAPTURE(command);
        const Said said = room.run(command);
        CHECK(said.code != 0);
        CHECK(has(said.err, "loop.db can't be read: Too many levels of symbolic links"));
    }
    fs::create_directory(room.folder / "folder");
    CHECK(has(room.run("restore folder --store a.db").err, "folder is a folder, not a backup"));
}

TEST_CASE("an evening looks for no rig where nothing could be kept") {
    const Room room;
    const Said said = room.run("evening --rig simulated --store nowhere/a.db");
    CHECK(said.code == 4);
    CHECK(has(said.err, "nowhere"));
    CHECK_FALSE(has(said.out, "Looking for the rig"));
}

TEST_CASE("a desk is not opened beside a store that was named and is not there") {
    const Room room;
    const Said said = room.run("desk --port 0 --store nowhere.db </dev/null");
    CHECK(said.code == 2);
    CHECK(has(said.err, "nowhere.db"));
    CHECK_FALSE(has(said.out, "Digits"));
}

TEST_CASE("pictures go to a folder that is made for them") {
    const Room room;
    room.write("file", "x");
    const Said said = room.run("pictures file/deeper");
    CHECK(said.code == 2);
    CHECK(has(said.err, "file is there and is no folder"));
}

TEST_CASE("a standard output that takes nothing is an error") {
    const Room room;
    REQUIRE(room.run("demo --headless --fast --seed 3 --store a.db").code == 0);
    for (const char* command : {"athletes list --store a.db", "export - --store a.db", "drills",
                                "progress --store a.db", "report athlete Heron --store a.db", "--help"}) {
        CAPTURE(command);
        const Said said = room.run("" + std::string(command) + " >/dev/full #");
        CHECK(said.code == 1);
    }
}

TEST_CASE("control bytes and megabytes that were typed are not echoed as they are") {
    const Room room;
    const Said said = room.run("drill \"$(printf 'x\\033[2Jy')\" --rig simulated --fast");
    CHECK(said.code == 2);
    CHECK_FALSE(has(said.err, "\033"));
    CHECK(has(said.err, "\\x1b[2Jy"));
    const Said option = room.run("\"$(printf -- '--\\033[2J')\"");
    CHECK(option.code == 2);
    CHECK_FALSE(has(option.err, "\033"));
    room.write("long.toml", "title = \"x\"\n" + std::string(500'000, 'k') + " = 1\n");
    const Said longer = room.run("drill long.toml --rig simulated --fast");
    CHECK(longer.code == 2);
    CHECK(longer.err.size() < 10'000);
}

TEST_CASE("nan is no number of any option") {
    const Room room;
    for (const char* option : {"--drift", "--damage", "--reset-after", "--minutes"})
        for (const char* number : {"nan", "inf", "-inf"}) {
            CAPTURE(option);
            CHECK(room.run(std::string("simulate-rig ") + option + " " + number).code == 2);
        }
    CHECK(room.run("rigs watch --seconds nan").code == 2);
    room.write("list.csv", "time_s\n0\n1\n2\n");
    CHECK(room.run("timeable list.csv --r nan").code == 2);
}

TEST_CASE("one wrong drill file of one's own stops neither the list nor another drill") {
    const Room room;
    fs::create_directories(room.folder / ".config/breakstep/drills");
    room.write(".config/breakstep/drills/wrong.toml", "title = 3\n");
    const Said said = room.run("drills --json");
    CHECK(said.code == 0);
    CHECK(json::parse(said.out).at("drills").size() > 5);
    CHECK(has(said.err, "wrong.toml"));
}

TEST_CASE("on a full disk a report fails by its own name, and the old page stays whole") {
    const Room room;
    REQUIRE(room.run("demo --headless --fast --seed 3 --store a.db").code == 0);
    REQUIRE(room.run("report athlete Heron --format png --store a.db").code == 0);
    const fs::path page = room.folder / "reports" / "athlete-Heron.png";
    REQUIRE(fs::file_size(page) > 100 * 512);
    const std::string old = bytes(page);
    REQUIRE(room.run("drill feints --rig simulated --fast --athlete Heron --seed 5 --store a.db").code == 0);
    // No file may grow beyond 100 blocks of 512 bytes: enough for what SQLite shares in memory.
    const Said said = room.run("athletes list --store a.db >/dev/null; (trap '' XFSZ; ulimit -f 100; exec " +
                               std::string(BREAKSTEP_PROGRAM) + " report athlete Heron --format png --store a.db)");
    CHECK(said.code == 1);
    CHECK(has(said.err, "athlete-Heron.png"));
    CHECK(bytes(page) == old);
    CHECK(std::distance(fs::directory_iterator(page.parent_path()), fs::directory_iterator()) == 1);
    CHECK((fs::status(page).permissions() & fs::perms::all) == fs::perms(0600));
    CHECK((fs::status(page.parent_path()).permissions() & fs::perms::all) == fs::perms(0700));
}

TEST_CASE("a session that was cut off is named at the next start, once, with what is kept of it") {
    const Room room;
    REQUIRE(room.run("demo --headless --fast --seed 3 --store a.db").code == 0);
    {
        const auto store = Store::open(room.file("a.db"));
        REQUIRE(store.has_value());
        const auto heron = (*store)->find_athlete("Heron");
        REQUIRE((heron && *heron));
        JournalRecord began;
        SessionBegan session;
        session.session = SessionId{77};
        session.athlete = (*heron)->id;
        session.unix_seconds = 1'727'690'400;
        session.drill.name = "feints";
        began.event = session;
        (*store)->append(session.session, {&began, 1});
        RepResult rep;
        rep.rep = RepId{0};
        (*store)->keep(session.session, rep);
        REQUIRE((*store)->close().has_value());
    }
    const std::string drill = "drill feints --rig simulated --fast --athlete Heron --store a.db --seed ";
    const Said told = room.run(drill + "5");
    CHECK(told.code == 0);
    CHECK_MESSAGE(has(told.err, "session 5 of Heron (feints, 2024-09-30) was cut off; its 1 rep is kept"), told.err);
    CHECK_FALSE(has(room.run(drill + "6").err, "cut off"));
    CHECK(room.run("check --store a.db").code == 0);
}

TEST_CASE("a disk that fails while a file is read is told by every command that reads one") {
    const Room room;
    // The kernel lets nobody read the memory at address 0: each reading of this file fails with EIO.
    const std::string failing = "/proc/self/mem";
    for (const std::string& command :
         {"drill " + failing + " --rig simulated --fast", "demo --fast --headless --settings " + failing,
          "replay " + failing, "timeable " + failing, "leads " + failing, "rung " + failing, "import " + failing,
          "athletes import-list " + failing, "restore " + failing + " --store a.db", "progress --store " + failing}) {
        CAPTURE(command);
        const Said said = room.run(command);
        CHECK(said.code >= 1);
        CHECK(said.code <= 4);
        CHECK_MESSAGE(said.err.starts_with("breakstep"), said.err);
    }
}

TEST_CASE("on a disk of 2 MB that is full a report fails, and the old page stays whole") {
    const Room room;
    fs::create_directory(room.folder / "small");
    // A disk of its own that only this command sees; not every computer lets one be made.
    const std::string on_small = "unshare -rm sh -c 'mount -t tmpfs -o size=2m none small && ";
    if (std::system(("cd " + room.folder.string() + " && " + on_small + "true' 2>/dev/null").c_str()) != 0) {
        MESSAGE("not tried: no disk can be made here");
        return;
    }
    REQUIRE(room.run("demo --headless --fast --seed 3 --store a.db").code == 0);
    const std::string report =
        std::string(BREAKSTEP_PROGRAM) + " report athlete Heron --format png --out small --store a.db";
    const Said said =
        room.run("drills >/dev/null; " + on_small + report + " && cp -p small/athlete-Heron.png old.png && " +
                 BREAKSTEP_PROGRAM +
                 " drill feints --rig simulated --fast --athlete Heron --seed 5 --store a.db >/dev/null && " +
                 "{ cat /dev/zero >small/filling 2>/dev/null; " + report + "; echo ended with $?; ls -A small; " +
                 "cmp small/athlete-Heron.png old.png && echo the old page; }'");
    CHECK_MESSAGE(said.code == 0, said.err);
    CHECK(has(said.out, "ended with 1\n"));
    CHECK(has(said.err, "athlete-Heron.png"));
    CHECK(has(said.out, "the old page"));
    CHECK_FALSE(has(said.out, ".part-"));
}

TEST_CASE("progress, report and export read no store in which a digit has changed, check names the place") {
    const Room room;
    REQUIRE(room.run("demo --headless --fast --seed 3 --store a.db").code == 0);
    const Said whole = room.run("check --json --store a.db");
    REQUIRE_MESSAGE(whole.code == 0, whole.err);
    CHECK(json::parse(whole.out).at("sessions_without_checksum") == 0);
    REQUIRE(room.run("progress --store a.db").code == 0);
    REQUIRE(std::system(("cd " + room.folder.string() +
                         " && python3 -c \"import sqlite3; d = sqlite3.connect('a.db'); "
                         "d.execute('UPDATE reps SET scored = 0 WHERE session = 2 AND rep = 3'); d.commit()\"")
                            .c_str()) == 0);
    for (const char* command :
         {"progress", "report athlete Heron", "report group", "export - ", "check", "backup b.db"}) {
        CAPTURE(command);
        const Said said = room.run(std::string(command) + " --store a.db");
        CHECK(said.code == 2);  // a file that cannot be used
        CHECK(has(said.err, "session 2"));
    }
    CHECK_FALSE(fs::exists(room.folder / "b.db"));
}

namespace {

// Everything that was told then is told now, and the same; only further contacts have moved from toe-off's axis to the
// latency's, by `zero_ms`.
void check_told(const nlohmann::json& then, const nlohmann::json& now) {
    REQUIRE(then.type() == now.type());
    if (then.is_array()) {
        REQUIRE(then.size() == now.size());
        for (std::size_t i = 0; i < then.size(); ++i) check_told(then[i], now[i]);
    } else if (then.is_object()) {
        for (const auto& [key, value] : then.items()) {
            CAPTURE(key);
            REQUIRE(now.contains(key));
            if (key == "later_contacts_ms") {
                REQUIRE(value.size() == now[key].size());
                for (std::size_t i = 0; i < value.size(); ++i)
                    CHECK(now[key][i].get<double>() + now["zero_ms"].get<double>() ==
                          doctest::Approx(value[i].get<double>()).epsilon(1e-12));
            } else {
                check_told(value, now[key]);
            }
        }
    } else {
        CHECK(then == now);
    }
}

}  // namespace

// Columns that came later stand behind those of then.
bool begins_each_line(const std::string& then, const std::string& now) {
    std::istringstream old(then), fresh(now);
    std::string was, is;
    while (std::getline(old, was)) {
        if (was.ends_with('\r')) was.pop_back();
        if (!std::getline(fresh, is) || !(is + "\n").starts_with(was)) return false;
    }
    return !std::getline(fresh, is);
}

TEST_CASE("stores of the first three versions read, rescore and export as they did") {
    for (const int version : {1, 2, 3}) {
        CAPTURE(version);
        const Room room;
        make_old_store(room, version);
        REQUIRE(room.run("check --store a.db").code == 0);
        // Before the third version no rep said that it was a retreat: scoring again does.
        for (const char* session : {"1", "3"}) {
            const Said said = room.run(std::string("rescore ") + session + " --json --store a.db");
            check_told(nlohmann::json::parse(bytes(data + "version_3_rescored_" + session + ".json")),
                       nlohmann::json::parse(said.out));
        }
        if (version < 3) continue;
        for (const char* table : {"reps", "sessions", "measures"})
            CHECK(begins_each_line(bytes(data + "version_3_" + table + ".csv"),
                                   room.run(std::string("export - --table ") + table + " --store a.db").out));
    }
}
