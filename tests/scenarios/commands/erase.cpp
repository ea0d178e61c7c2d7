// Erasing an athlete, as it is typed: nothing is left in any file of the store, and what still holds the athlete is
// named.
#include <doctest/doctest.h>

#include <sqlite3.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "store/store.hpp"
#include "stored.hpp"

using namespace breakstep::testing;
using nlohmann::json;

namespace {

/// Another program that has the store open, reading.
class OtherReader {
  public:
    explicit OtherReader(const std::string& file) {
        REQUIRE(sqlite3_open_v2(file.c_str(), &database_, SQLITE_OPEN_READONLY, nullptr) == SQLITE_OK);
    }
    ~OtherReader() { sqlite3_close(database_); }
    OtherReader(const OtherReader&) = delete;
    OtherReader& operator=(const OtherReader&) = delete;
    void run(const char* sql) { REQUIRE(sqlite3_exec(database_, sql, nullptr, nullptr, nullptr) == SQLITE_OK); }

  private:
    sqlite3* database_ = nullptr;
};

/// Plants an athlete with a session, whose every text was another one before; gives the planted texts.
std::vector<std::string> plant(const Room& room, std::string& call_sign) {
    std::vector<std::string> planted;
    const auto letters = [&] { return planted.emplace_back(random_letters()); };
    REQUIRE(room.run("demo --headless --fast --seed 3 --store a.db").code == 0);
    call_sign = "Heron";
    for (int i = 0; i < 3; ++i) {
        const std::string next = letters();
        REQUIRE(room.run("athletes change " + call_sign + " --call-sign " + next + " --real-name " + letters() +
                         " --notes " + letters() + " --grade " + letters() + " --consent-on 2024-09-30 --consent-by " +
                         letters() + " --store a.db")
                    .code == 0);
        call_sign = next;
    }
    return planted;
}

int found_in(const Room& room, const std::vector<std::string>& planted) {
    const std::string all = store_files(room, "a.db");
    int found = 0;
    for (const std::string& text : planted) found += has(all, text) ? 1 : 0;
    return found;
}

}  // namespace

TEST_CASE("an erased athlete is nowhere in the store's files, and the copies that hold one still are named") {
    const Room room;
    const std::string call_sign = random_letters(), name = random_letters(), notes = random_letters(),
                      measure = random_letters();
    REQUIRE(room.run("demo --headless --fast --seed 3 --store a.db").code == 0);
    REQUIRE(room.run("athletes change Heron --call-sign " + call_sign + " --real-name " + name + " --notes " + notes +
                     " --store a.db")
                .code == 0);
    room.write("past.csv", "athlete,date,measure,value\n" + call_sign + ",2024-03-02," + measure + ",1\n");
    REQUIRE(room.run("import past.csv --store a.db").code == 0);
    REQUIRE(room.run("backup copy.db --store a.db").code == 0);
    CHECK(room.run("backup copy.db --store a.db").code == 2);
    CHECK(has(store_files(room, "a.db"), notes));

    const Said asked = room.run("athletes erase " + call_sign + " --store a.db");
    CHECK(asked.code == 2);
    CHECK(has(asked.err, "--yes"));
    CHECK(has(store_files(room, "a.db"), notes));
    const Said erased = room.run("athletes erase " + call_sign + " --yes --json --store a.db");
    REQUIRE_MESSAGE(erased.code == 0, erased.err);
    const json report = json::parse(erased.out);
    CHECK(report.at("sessions") == 1);
    CHECK(report.at("measures") == 1);
    REQUIRE(report.at("still_held_by").size() == 1);
    CHECK(has(report.at("still_held_by")[0].at("file"), "copy.db"));
    for (const std::string& planted : {call_sign, name, notes, measure})
        CHECK_FALSE(has(store_files(room, "a.db"), planted));
    CHECK(athletes_in(room, "a.db").size() == 3);
    // As it says: the copy can be erased from, too.
    REQUIRE(room.run("athletes erase " + call_sign + " --yes --store copy.db").code == 0);
    for (const std::string& planted : {call_sign, name, notes, measure})
        CHECK_FALSE(has(store_files(room, "copy.db"), planted));
}

TEST_CASE("texts that were changed before are erased too, with another program that has read the store") {
    const Room room;
    std::string call_sign;
    const auto planted = plant(room, call_sign);
    OtherReader reader(room.file("a.db"));
    reader.run("SELECT * FROM athletes");
    REQUIRE(found_in(room, planted) >= 5);
    const Said erased = room.run("athletes erase " + call_sign + " --yes --store a.db");
    REQUIRE_MESSAGE(erased.code == 0, erased.err);
    CHECK(found_in(room, planted) == 0);
}

TEST_CASE("while another program holds an old state of the store, erasing says so, afterwards it is thorough") {
    const Room room;
    std::string call_sign;
    const auto planted = plant(room, call_sign);
    const std::string erase = "athletes erase " + call_sign + " --yes --store a.db";
    {
        OtherReader reader(room.file("a.db"));
        reader.run("BEGIN; SELECT * FROM athletes");
        // Something newer than what the reader holds on to.
        REQUIRE(room.run("athletes change " + call_sign + " --group x --store a.db").code == 0);
        const Said refused = room.run(erase);
        CHECK(refused.code == 4);
        CHECK_MESSAGE(has(refused.err, "close the program"), refused.err);
        CHECK_MESSAGE(has(refused.err, "nothing was erased"), refused.err);
        CHECK(athletes_in(room, "a.db").size() == 4);
    }
    const Said erased = room.run(erase);
    REQUIRE_MESSAGE(erased.code == 0, erased.err);
    CHECK(found_in(room, planted) == 0);
}

TEST_CASE("a reader that comes in meanwhile is told, and the same command once more clears the rest") {
    const Room room;
    std::string call_sign;
    const auto planted = plant(room, call_sign);
    const std::string erase = "athletes erase " + call_sign + " --yes --store a.db";
    {
        // With an empty log this reader holds the file itself, which is seen only once there is something to write.
        OtherReader reader(room.file("a.db"));
        reader.run("BEGIN; SELECT * FROM athletes");
        const Said told = room.run(erase);
        CHECK(told.code == 4);
        CHECK_MESSAGE(has(told.err, "once more"), told.err);
    }
    CHECK(room.run(erase).code == 2);
    CHECK(found_in(room, planted) == 0);
    CHECK(athletes_in(room, "a.db").size() == 3);
}

TEST_CASE("a store that a restore put aside is erased from too, and backups in any folder are named") {
    const Room room;
    std::string call_sign;
    const auto planted = plant(room, call_sign);
    std::filesystem::create_directory(room.folder / "stick");
    REQUIRE(room.run("backup 'stick/first copy.db' --store a.db").code == 0);
    REQUIRE(room.run("backup stick/second.db --store a.db").code == 0);
    REQUIRE(room.run("restore 'stick/first copy.db' --store a.db").code == 0);
    REQUIRE(found_in(room, planted) >= 5);
    const Said erased = room.run("athletes erase " + call_sign + " --yes --json --store a.db");
    REQUIRE_MESSAGE(erased.code == 0, erased.err);
    CHECK(found_in(room, planted) == 0);  // in a.db.replaced-DATE neither
    const json report = json::parse(erased.out);
    REQUIRE(report.at("also_erased_from").size() == 1);
    CHECK(has(report.at("also_erased_from")[0], "a.db.replaced-"));
    // The restored store did not know of itself as a copy, nor of the second, which was made later.
    REQUIRE(report.at("still_held_by").size() == 2);
    CHECK(has(report.at("still_held_by")[0].at("file"), "stick/first copy.db"));
    CHECK(has(report.at("still_held_by")[1].at("file"), "stick/second.db"));
    CHECK_FALSE(std::filesystem::exists(room.file("stick/second.db-wal")));
    // A backup that is gone is named as one that can't be looked into.
    std::filesystem::remove(room.file("stick/second.db"));
    REQUIRE(room.run("athletes add Wren --store a.db").code == 0);
    CHECK(has(room.run("athletes erase Wren --yes --store a.db").out, "stick/second.db is a copy"));
}

TEST_CASE("an erased athlete's own reports and captures are deleted, those that show others are named, others' stay") {
    const Room room;
    const std::string drill = "drill feints --rig simulated --fast --store a.db --athlete ";
    REQUIRE(room.run("demo --headless --fast --seed 3 --store a.db --capture evening.capture").code == 0);
    REQUIRE(room.run(drill + "Heron --seed 4 --capture heron.capture").code == 0);
    REQUIRE(room.run(drill + "Dunlin --seed 5 --capture dunlin.capture").code == 0);
    for (const char* report : {"athlete Heron", "athlete Heron --format png --out pages", "athlete Heron --format svg",
                               "athlete Dunlin", "group", "evening"})
        REQUIRE(room.run("report " + std::string(report) + " --store a.db").code == 0);
    room.write("reports/athlete-Heron.txt", "a letter about Heron\n");
    // The name counts for nothing once the file says whom it shows.
    std::filesystem::rename(room.folder / "reports/athlete-Heron.pdf", room.folder / "reports/moved.pdf");
    std::filesystem::copy_file(room.folder / "reports/athlete-Dunlin.pdf", room.folder / "reports/athlete-Heron.pdf");

    const Said asked = room.run("athletes erase Heron --store a.db");
    CHECK(asked.code == 2);
    CHECK(has(asked.err, "moved.pdf"));
    CHECK(std::filesystem::exists(room.file("reports/moved.pdf")));

    const Said erased = room.run("athletes erase Heron --yes --json --store a.db");
    REQUIRE_MESSAGE(erased.code == 0, erased.err);
    const json told = json::parse(erased.out);
    std::vector<std::string> deleted, named;
    for (const auto& path : told.at("files_deleted"))
        deleted.push_back(std::filesystem::path(path.get<std::string>()).filename().string());
    for (const auto& path : told.at("files_with_others"))
        named.push_back(std::filesystem::path(path.get<std::string>()).filename().string());
    for (const char* name : {"heron.capture", "athlete-Heron.png", "athlete-Heron.svg", "moved.pdf"})
        CHECK_MESSAGE(std::find(deleted.begin(), deleted.end(), name) != deleted.end(), name);
    for (const char* name :
         {"reports/moved.pdf", "reports/athlete-Heron.svg", "pages/athlete-Heron.png", "heron.capture"})
        CHECK_MESSAGE(!std::filesystem::exists(room.file(name)), name);
    for (const char* name : {"reports/athlete-Heron.txt", "reports/athlete-Heron.pdf", "reports/athlete-Dunlin.pdf",
                             "dunlin.capture", "reports/group.pdf", "evening.capture"})
        CHECK_MESSAGE(std::filesystem::exists(room.file(name)), name);
    CHECK(named.size() == 3);
    for (const char* name : {"group.pdf", "evening.capture"})
        CHECK_MESSAGE(std::find(named.begin(), named.end(), name) != named.end(), name);
}

TEST_CASE("each day's backup is erased from, too") {
    const Room room;
    std::string call_sign;
    const auto planted = plant(room, call_sign);
    REQUIRE(room.run("restore a.db --store b.db").code == 0);
    // As the first drill of a day makes it.
    std::filesystem::create_directory(room.folder / "b.db.backups");
    REQUIRE(room.run("backup b.db.backups/2024-09-30.db --store a.db").code == 0);
    const auto in_backup = [&] {
        std::ifstream file(room.file("b.db.backups/2024-09-30.db"), std::ios::binary);
        return std::string(std::istreambuf_iterator<char>(file), {});
    };
    REQUIRE(has(in_backup(), call_sign));
    const Said erased = room.run("athletes erase " + call_sign + " --yes --json --store b.db");
    REQUIRE_MESSAGE(erased.code == 0, erased.err);
    CHECK(has(erased.out, "2024-09-30.db"));
    for (const std::string& text : planted) CHECK_FALSE(has(in_backup(), text));
}

TEST_CASE(
    "a daily backup that can't be written keeps the store from being erased, so that the same command finds all") {
    const Room room;
    std::string call_sign;
    const auto planted = plant(room, call_sign);
    const std::string backup = "a.db.backups/2024-09-30.db";
    std::filesystem::create_directory(room.folder / "a.db.backups");
    REQUIRE(room.run("backup " + backup + " --store a.db").code == 0);
    const std::string erase = "athletes erase " + call_sign + " --yes --store a.db";
    {
        // Somebody else writes there.
        const auto other = breakstep::Store::open(room.folder / backup);
        REQUIRE(other.has_value());
        const Said refused = room.run(erase);
        CHECK(refused.code == 4);
        CHECK_MESSAGE(has(refused.err, "2024-09-30.db"), refused.err);
        CHECK(athletes_in(room, "a.db").size() == 4);
    }
    CHECK(room.run(erase).code == 0);
    CHECK(athletes_in(room, "a.db").size() == 3);
    CHECK(athletes_in(room, backup).size() == 3);
}

TEST_CASE("a daily backup in which an erasing was cut off before its log came home is cleared by the next one") {
    const Room room;
    std::string call_sign;
    const auto planted = plant(room, call_sign);
    const std::filesystem::path backup = room.folder / "a.db.backups/2024-09-30.db";
    std::filesystem::create_directory(room.folder / "a.db.backups");
    REQUIRE(room.run("backup " + backup.string() + " --store a.db").code == 0);
    const auto log_of = [](const std::filesystem::path& file) { return std::filesystem::path(file.string() + "-wal"); };
    // As a kill between the commit and the checkpoint leaves it: gone by the log, and still in the file.
    const std::filesystem::path kept = room.folder / "kept.db";
    {
        sqlite3* database = nullptr;
        REQUIRE(sqlite3_open(backup.c_str(), &database) == SQLITE_OK);
        const std::string erase =
            "PRAGMA journal_mode = WAL; PRAGMA wal_autocheckpoint = 0; PRAGMA secure_delete = ON; "
            "PRAGMA foreign_keys = ON; DELETE FROM athletes WHERE call_sign = '" +
            call_sign + "'";
        REQUIRE(sqlite3_exec(database, erase.c_str(), nullptr, nullptr, nullptr) == SQLITE_OK);
        std::filesystem::copy_file(backup, kept);
        std::filesystem::copy_file(log_of(backup), log_of(kept));
        sqlite3_close(database);
    }
    std::filesystem::rename(kept, backup);
    std::filesystem::rename(log_of(kept), log_of(backup));
    const auto bytes_of = [](const std::filesystem::path& file) {
        std::ifstream in(file, std::ios::binary);
        return std::string(std::istreambuf_iterator<char>(in), {});
    };
    REQUIRE(has(bytes_of(backup), call_sign));
    CHECK(room.run("athletes erase " + call_sign + " --yes --store a.db").code == 0);
    CHECK(athletes_in(room, backup.string()).size() == 3);
    int found = 0;
    for (const auto& file : std::filesystem::recursive_directory_iterator(room.folder / "a.db.backups"))
        for (const std::string& text : planted) found += has(bytes_of(file.path()), text) ? 1 : 0;
    CHECK(found == 0);
}
