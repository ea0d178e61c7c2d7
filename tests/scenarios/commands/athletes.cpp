// Athletes, past results, exports and copies, as they are typed: what is said, what is kept, the exit codes.
#include <doctest/doctest.h>

#include <sqlite3.h>

#include <algorithm>
#include <ctime>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <string>

#include "places.hpp"
#include "stored.hpp"

using namespace breakstep::testing;
using nlohmann::json;

TEST_CASE("an athlete is added, changed and listed with every field") {
    const Room room;
    REQUIRE(room.run("athletes add Heron --store a.db --grade 'green belt' --lead left --height-band '150-160 cm' "
                     "--birth-year 2012 --group Thursday --notes 'left knee' --real-name 'A. Bird' --consent-on "
                     "2024-09-30 --consent-by guardian --consent-until 2024-12-31")
                .code == 0);
    const json heron = athletes_in(room, "a.db").at(0);
    CHECK(heron.at("call_sign") == "Heron");
    CHECK(heron.at("real_name") == "A. Bird");
    CHECK(heron.at("grade") == "green belt");
    CHECK(heron.at("lead") == "left");
    CHECK(heron.at("height_band") == "150-160 cm");
    CHECK(heron.at("birth_year") == 2012);
    CHECK(heron.at("group") == "Thursday");
    CHECK(heron.at("notes") == "left knee");
    CHECK(heron.at("consent") == "expired");
    CHECK(heron.at("consent_by") == "guardian");
    const std::string page = room.run("athletes list --store a.db").out;
    CHECK(has(page, "EXPIRED 2024-12-31"));
    CHECK(has(page, "consent has run out: Heron"));
    CHECK(room.run("athletes change heron --store a.db").code == 2);
    REQUIRE(room.run("athletes change heron --call-sign Egret --real-name '' --no-consent --store a.db").code == 0);
    const json egret = athletes_in(room, "a.db").at(0);
    CHECK(egret.at("call_sign") == "Egret");
    CHECK(egret.at("real_name").is_null());
    CHECK(egret.at("consent") == "refused");
    CHECK(egret.at("grade") == "green belt");
}

TEST_CASE("what can't be an athlete is refused with a reason") {
    const Room room;
    REQUIRE(room.run("athletes add Heron --store a.db").code == 0);
    for (const auto& [arguments, says] : {
             std::pair{"add hERON", "taken"},
             std::pair{"add '  '", "empty"},
             std::pair{"add Rook --birth-year twelve", "twelve"},
             std::pair{"add $(printf 'x%.0s' $(seq 201))", "200 characters"},
             std::pair{"add $(printf 'R\\302\\233ook')", "control"},
             std::pair{"add $(printf 'R\\377ook')", "UTF-8"},
             std::pair{"add Rook --consent-on 2024-09-30 --consent-by x --consent-until 2024-01-01", "before"},
             std::pair{"add Rook --lead middle", "left or right"},
             std::pair{"add Rook --consent-on 30.9.2024 --consent-by guardian", "consent"},
             std::pair{"add Rook --consent-on 2024-09-30", "by whom"},
             std::pair{"add Rook --consent-on 2190-01-01 --consent-by guardian", "a day to come"},
             std::pair{"add Rook --birth-year 2150", "still to come"},
             std::pair{"add Rook --birth-year 1901", "years old"},
             std::pair{"change Heron --birth-year 2150", "still to come"},
             std::pair{"change Rook --grade x", "there are: Heron"},
             std::pair{"erase Rook --yes", "there are: Heron"},
         }) {
        CAPTURE(arguments);
        const Said said = room.run(std::string("athletes ") + arguments + " --store a.db");
        CHECK(said.code == 2);
        CHECK_MESSAGE(has(said.err, says), said.err);
    }
    CHECK(athletes_in(room, "a.db").size() == 1);
}

TEST_CASE("a child's own yes is refused wherever it is said, and a guardian's is taken") {
    const Room room;
    std::string year;
    {
        const std::time_t now = std::time(nullptr);
        std::tm local{};
        localtime_r(&now, &local);
        year = std::to_string(local.tm_year + 1900 - 9);
    }
    const std::string child = "athletes add Plover --store a.db --consent-on 2024-09-30 --birth-year " + year;
    for (const char* own : {"Plover", "PLOVER", "'the athlete'", "'Pia Moor' --real-name 'pia moor'"}) {
        CAPTURE(own);
        const Said said = room.run(child + " --consent-by " + own);
        CHECK(said.code == 2);
        CHECK_MESSAGE(has(said.err, "own"), said.err);
        CHECK_MESSAGE(has(said.err, "guardian"), said.err);
    }
    CHECK_FALSE(std::filesystem::exists(room.file("a.db")));

    room.write("list.csv", "call_sign,birth_year,consent_on,consent_by\nPlover," + year + ",2024-09-30,plover\n");
    const Said list = room.run("athletes import-list list.csv --store a.db");
    CHECK(list.code == 2);
    CHECK_MESSAGE(has(list.err, "line 2, column 4 (consent_by)"), list.err);
    CHECK_FALSE(std::filesystem::exists(room.file("a.db")));

    // Known as of age until the year of birth is said.
    REQUIRE(room.run("athletes add Dunlin --consent-on 2024-09-30 --consent-by Dunlin --store a.db").code == 0);
    CHECK(room.run("athletes change Dunlin --grade green --birth-year " + year + " --store a.db").code == 2);
    CHECK(room.run("athletes change Dunlin --grade green --store a.db").code == 0);
    CHECK(room.run("athletes change Dunlin --consent-by guardian --birth-year " + year + " --store a.db").code == 0);
    CHECK(room.run(child + " --consent-by guardian").code == 0);
    for (const json& each : athletes_in(room, "a.db")) CHECK(each.at("consent") == "given");
}

TEST_CASE("a list goes out harmless and comes back the same, whatever the names") {
    const Room room;
    std::string longest;
    for (int i = 0; i < 200; ++i) longest += "雨";
    const std::vector<std::string> names{"=1+1",
                                         "+cmd",
                                         "-2",
                                         "@sum",
                                         "'=quoted",
                                         "O\"Brien, <b>x</b>",
                                         "стриж ☂",
                                         "<script>alert(1)</script>",
                                         "Robert'); DROP TABLE athletes;--",
                                         longest};
    std::string list = "call_sign,notes\n";
    for (const std::string& name : names) {
        std::string quoted;
        for (const char character : name) quoted += character == '"' ? std::string("\"\"") : std::string(1, character);
        // A cell that begins with an apostrophe before a formula stands for the formula: so it is doubled here.
        list += "\"" + std::string(name[0] == '\'' ? "'" : "") + quoted + "\",\"=two\nlines\"\n";
    }
    room.write("list.csv", list);
    REQUIRE(room.run("athletes import-list list.csv --store a.db").code == 0);
    const json first = athletes_in(room, "a.db");
    REQUIRE(first.size() == names.size());
    for (const std::string& name : names)
        CHECK(std::any_of(first.begin(), first.end(), [&](const json& one) { return one.at("call_sign") == name; }));
    REQUIRE(room.run("athletes export-list out.csv --with-names --store a.db").code == 0);
    const std::string out = room.text("out.csv");
    for (const char* harmless : {"\n'=1+1,", "\n'+cmd,", "\n'-2,", "\n'@sum,", "\n''=quoted,", "\"'=two\nlines\""})
        CHECK_MESSAGE(has(out, harmless), harmless);
    CHECK(room.run("athletes export-list out.csv --store a.db").code == 2);
    REQUIRE(room.run("athletes import-list out.csv --store b.db").code == 0);
    json second = athletes_in(room, "b.db"), expected = first;
    for (json* list_of : {&second, &expected})
        for (json& one : *list_of) one.erase("id");
    CHECK(second == expected);
    CHECK(room.run("athletes import-list out.csv --store b.db").code == 2);
}

TEST_CASE("past results come in, and unknown athletes with them") {
    const Room room;
    REQUIRE(room.run("athletes add Heron --store a.db").code == 0);
    // With a byte order mark, other line ends, quotes, another order of columns.
    room.write("past.csv",
               "\xEF\xBB\xBF"
               "date,athlete,value,measure\r\n2024-03-02,heron,249.56,Reaction\r\n2024-03-03,\"Rook\",-1e2,\"a "
               "\"\"b\"\"\"\r\n");
    const Said said = room.run("import past.csv --json --store a.db");
    REQUIRE_MESSAGE(said.code == 0, said.err);
    CHECK(json::parse(said.out).at("values") == 2);
    CHECK(json::parse(said.out).at("athletes_added") == json::array({"Rook"}));
    const json measures = json::parse(room.run("export - --json --store a.db").out).at("measures");
    REQUIRE(measures.size() == 2);
    for (const json& measure : measures) {
        const bool heron = measure.at("athlete") == "Heron";
        CHECK(measure.at("value") == (heron ? 249.56 : -100));
        CHECK(measure.at("measure") == (heron ? "Reaction" : "a \"b\""));
    }
}

TEST_CASE("a mistake in a file of past results is told by line and column, and nothing comes in") {
    const Room room;
    struct Wrong {
        const char *text, *where, *says;
    };
    const std::string good = "Heron,2024-03-02,r,1\n";
    for (const Wrong& wrong : {
             Wrong{"athlete,date,measure,value\n%Rook,2023-02-29,r,1\n", "line 3, column 2 (date)", "calendar"},
             Wrong{"athlete,date,measure,value\n%Rook,2.3.2024,r,1\n", "line 3, column 2 (date)", "calendar"},
             Wrong{"athlete,date,measure,value\n%Rook,2024-03-02,r,\"1,5\"\n", "line 3, column 4 (value)", "1.5"},
             Wrong{"athlete,date,measure,value\n%Rook,2024-03-02,r,1,5\n", "line 3, column 5", "point"},
             Wrong{"athlete,date,measure,value\n%Rook,2024-03-02,r,nan\n", "line 3, column 4 (value)", "number"},
             Wrong{"athlete,date,measure,value\n%Rook,2024-03-02,r,\n", "line 3, column 4 (value)", "number"},
             Wrong{"athlete,date,measure,value\n%Rook,2024-03-02,r\n", "line 3, column 4", "missing"},
             Wrong{"athlete,date,measure,value\n%,2024-03-02,r,1\n", "line 3, column 1 (athlete)", "missing"},
             Wrong{"athlete,date,measure,value\n%Rook,2024-03-02,,1\n", "line 3, column 3 (measure)", "no name"},
             Wrong{"athlete,date,measure,value\n%hERON,2024-03-02,r,2\n", "line 3, column 3 (measure)", "line 2"},
             Wrong{"athlete,date,measure,value\n%\"Rook,2024-03-02,r,2\n", "line 3, column 1", "never closed"},
             Wrong{"athlete,date,measure,value\n%R\xff,2024-03-02,r,2\n", "line 3, column 1", "UTF-8"},
             Wrong{"athlete,date,value\nHeron,2024-03-02,1\n", "line 1, column 4", "\"measure\" is missing"},
             Wrong{"athlete,date,measure,value,colour\n", "line 1, column 5", "colour"},
             Wrong{"athlete:date:measure:value\n", "line 1, column 1", "there is no column"},
             Wrong{"", "line 1", "missing"},
         }) {
        std::string text = wrong.text;
        if (const auto at = text.find('%'); at != std::string::npos) text.replace(at, 1, good);
        CAPTURE(text);
        room.write("past.csv", text);
        const Said said = room.run("import past.csv --store a.db");
        CHECK(said.code == 2);
        CHECK_MESSAGE(has(said.err, wrong.where), said.err);
        CHECK_MESSAGE(has(said.err, wrong.says), said.err);
        CHECK_FALSE(std::filesystem::exists(room.file("a.db")));
    }
    CHECK(room.run("import nowhere.csv --store a.db").code == 2);
    // What an earlier import brought in is not brought in again, and keeps the new rows beside it out.
    room.write("past.csv", "athlete,date,measure,value\n" + good);
    REQUIRE(room.run("import past.csv --store a.db").code == 0);
    room.write("more.csv", "athlete,date,measure,value\nRook,2024-03-02,r,1\n" + good);
    const Said again = room.run("import more.csv --store a.db");
    CHECK(again.code == 2);
    CHECK(has(again.err, "line 3, column 3"));
    CHECK(athletes_in(room, "a.db").size() == 1);
}

TEST_CASE("sessions and reps are exported as the demo told them, and every column is explained") {
    const Room room;
    const Said demo = room.run("demo --headless --fast --json --seed 3 --store a.db");
    REQUIRE(demo.code == 0);
    const json told = json::parse(demo.out).at("sessions");
    const json exported = json::parse(room.run("export - --json --store a.db").out).at("sessions");
    REQUIRE(exported.size() == told.size());
    std::size_t reps = 0;
    for (std::size_t i = 0; i < told.size(); ++i) {
        CHECK(exported[i].at("session") == told[i].at("session"));
        CHECK(exported[i].at("athlete") == told[i].at("athlete"));
        CHECK(exported[i].at("on_time_rate") == told[i].at("totals").at("on_time_rate"));
        REQUIRE(exported[i].at("reps").size() == told[i].at("reps").size());
        for (std::size_t rep = 0; rep < told[i].at("reps").size(); ++rep, ++reps)
            for (const char* key : {"moment", "verdict", "scored", "latency_ms", "uncertainty_ms", "commit_ms"})
                CHECK(exported[i].at("reps")[rep].at(key) == told[i].at("reps")[rep].at(key));
    }
    REQUIRE(room.run("export reps.csv --store a.db").code == 0);
    const std::string csv = room.text("reps.csv");
    CHECK(static_cast<std::size_t>(std::count(csv.begin(), csv.end(), '\n')) == reps + 1);
    CHECK(room.run("export reps.csv --store a.db").code == 2);
    CHECK(room.run("export reps.csv --overwrite --store a.db").code == 0);
    CHECK(room.run("export --store a.db").code == 2);
    const std::string dictionary = room.run("export --dictionary").out;
    for (const char* table : {"reps", "sessions", "measures", "athletes"}) {
        const std::string text =
            room.run(std::string(table) == "athletes" ? "athletes export-list --store a.db"
                                                      : std::string("export - --table ") + table + " --store a.db")
                .out;
        std::string name;
        for (const char character : text.substr(0, text.find('\r')) + ",") {
            if (character != ',') {
                name += character;
                continue;
            }
            CHECK_MESSAGE(has(dictionary, "\n" + std::string(table) + "," + name + ","), name);
            name.clear();
        }
    }
}

TEST_CASE("a backup is restored after a check, and the store it replaces is kept") {
    const Room room;
    REQUIRE(room.run("athletes add Heron --store a.db").code == 0);
    REQUIRE(room.run("backup copy.db --store a.db").code == 0);
    REQUIRE(room.run("athletes add Rook --store a.db").code == 0);
    const Said said = room.run("restore copy.db --json --store a.db");
    REQUIRE_MESSAGE(said.code == 0, said.err);
    CHECK(athletes_in(room, "a.db").size() == 1);
    const std::string kept = json::parse(said.out).at("replaced_store_kept_as");
    CHECK(athletes_in(room, kept).size() == 2);
    CHECK_FALSE(std::filesystem::exists(room.file("a.db.restoring")));
    REQUIRE(room.run("restore copy.db --store new.db").code == 0);
    CHECK(athletes_in(room, "new.db").size() == 1);
}

TEST_CASE("a backup that is not whole, or no store, or the store itself, replaces nothing") {
    const Room room;
    REQUIRE(room.run("demo --headless --fast --seed 3 --store a.db").code == 0);
    REQUIRE(room.run("backup copy.db --store a.db").code == 0);
    const std::string whole = room.text("copy.db");
    room.write("cut.db", whole.substr(0, whole.size() / 2));
    std::string broken = whole;
    broken.replace(broken.size() / 2 / 4096 * 4096, 16, 16, '\xa5');
    room.write("broken.db", broken);
    room.write("notes.txt", "not a store");
    const json before = athletes_in(room, "a.db");
    for (const char* name : {"cut.db", "broken.db", "notes.txt", "nowhere.db", "a.db"}) {
        CAPTURE(name);
        const Said said = room.run(std::string("restore ") + name + " --store a.db");
        CHECK(said.code == 2);
        CHECK_MESSAGE(has(said.err, name), said.err);
        CHECK(athletes_in(room, "a.db") == before);
    }
    // A damaged store gives way to a whole backup, and is kept all the same. (The log beside it was of the whole one.)
    std::filesystem::remove(room.folder / "a.db-wal");
    std::filesystem::remove(room.folder / "a.db-shm");
    room.write("a.db", broken);
    const Said said = room.run("restore copy.db --even-damaged --json --store a.db");
    REQUIRE_MESSAGE(said.code == 0, said.err);
    CHECK(athletes_in(room, "a.db") == before);
    CHECK(room.text(std::filesystem::path(json::parse(said.out).at("replaced_store_kept_as").get<std::string>())
                        .filename()
                        .string()) == broken);
}

TEST_CASE("a store of an older version is read, being brought up to date first") {
    const Room room;
    std::ifstream file(BREAKSTEP_SOURCE_DIR "/tests/unit/store/version_1.sql");
    const std::string sql{std::istreambuf_iterator<char>(file), {}};
    sqlite3* database = nullptr;
    REQUIRE(sqlite3_open(room.file("old.db").c_str(), &database) == SQLITE_OK);
    REQUIRE(sqlite3_exec(database, sql.c_str(), nullptr, nullptr, nullptr) == SQLITE_OK);
    sqlite3_close(database);
    CHECK(athletes_in(room, "old.db").size() == 1);
    CHECK(room.run("rescore last --store old.db").code == 0);
}

TEST_CASE("the people of a published study come in, one value a day each") {
    const Room room;
    const Said said = room.run("import " BREAKSTEP_SOURCE_DIR "/tests/data/sleepstudy.csv --json --store a.db");
    REQUIRE_MESSAGE(said.code == 0, said.err);
    // 18 people over ten days: Belenky et al. 2003, as the file's README says.
    CHECK(json::parse(said.out).at("values") == 180);
    CHECK(json::parse(said.out).at("athletes_added").size() == 18);
    CHECK(json::parse(said.out).at("measures") == json::array({"reaction_ms"}));
    CHECK(room.run("export out.csv --table measures --store a.db").code == 0);
    REQUIRE(room.run("import out.csv --store b.db").code == 0);
    CHECK(room.run("export - --table measures --store b.db").out.size() == room.text("out.csv").size());
}

TEST_CASE("what a spreadsheet would run after a tab or a line end is harmless too, and comes back the same") {
    const Room room;
    room.write("list.csv", "call_sign,notes\r\nHeron,\"\t=1+1\"\r\nRook,\"\r=1+1\"\r\nSwift,\"'\t=1\"\r\n");
    REQUIRE(room.run("athletes import-list list.csv --store a.db").code == 0);
    CHECK(athletes_in(room, "a.db").at(0).at("notes") == "\t=1+1");
    REQUIRE(room.run("athletes export-list out.csv --with-names --store a.db").code == 0);
    const std::string out = room.text("out.csv");
    for (const char* harmless : {",'\t=1+1,", ",\"'\r=1+1\",", ",'\t=1,"}) CHECK_MESSAGE(has(out, harmless), out);
    REQUIRE(room.run("athletes import-list out.csv --store b.db").code == 0);
    CHECK(athletes_in(room, "b.db").at(1).at("notes") == "\r=1+1");
    CHECK(athletes_in(room, "b.db").at(2).at("notes") == "\t=1");
}

TEST_CASE("a mistake in a list of athletes is told by line and column, and nobody comes in") {
    const Room room;
    for (const auto& [text, where, says] : {
             std::tuple{"call_sign,lead\nHeron,left\nhERON,left\n", "line 3, column 1 (call_sign)", "line 2"},
             std::tuple{"lead,call_sign\nleft,Heron\nmiddle,Rook\n", "line 3, column 1 (lead)", "left or right"},
             std::tuple{"call_sign,birth_year\nHeron,12\n", "line 2, column 2 (birth_year)", "four digits"},
             std::tuple{"call_sign,consent_on,consent_by\nHeron,2024-02-30,x\n", "line 2, column 2 (consent_on)",
                        "day"},
             std::tuple{"call_sign,grade\n\"two\nlines\",x\n", "line 2, column 1 (call_sign)", "line break"},
             std::tuple{"grade\nx\n", "line 1, column 2", "call_sign"},
         }) {
        CAPTURE(text);
        room.write("list.csv", text);
        const Said said = room.run("athletes import-list list.csv --store a.db");
        CHECK(said.code == 2);
        CHECK_MESSAGE(has(said.err, where), said.err);
        CHECK_MESSAGE(has(said.err, says), said.err);
        CHECK_FALSE(std::filesystem::exists(room.file("a.db")));
    }
}

TEST_CASE("a drill of an athlete whose consent ran out says so, and runs") {
    const Room room;
    REQUIRE(room.run("athletes add Heron --consent-on 2020-01-01 --consent-by guardian --consent-until 2020-12-31 "
                     "--store a.db")
                .code == 0);
    const std::string drill = "drill feints --rig simulated --fast --headless --seed 3 --store a.db";
    const Said said = room.run(drill + " --athlete Heron");
    CHECK(said.code == 0);
    CHECK_MESSAGE(has(said.err, "consent"), said.err);
    CHECK(has(said.err, "2020-12-31"));
    CHECK_FALSE(has(room.run(drill + " --athlete Curlew").err, "consent"));
}

TEST_CASE("an export never takes the place of a store, a folder or a device, and leaves no half of itself") {
    const Room room;
    REQUIRE(room.run("athletes add Heron --store a.db").code == 0);
    std::filesystem::create_directory(room.folder / "folder");
    for (const char* file : {"a.db", "folder", "/dev/full"}) {
        CAPTURE(file);
        const Said said = room.run(std::string("export ") + file + " --overwrite --store a.db");
        CHECK(said.code == 2);
        CHECK_MESSAGE(has(said.err, file), said.err);
    }
    CHECK(std::filesystem::exists("/dev/full"));
    CHECK(athletes_in(room, "a.db").size() == 1);
    room.write("old.csv", "older");
    REQUIRE(room.run("athletes export-list old.csv --overwrite --store a.db").code == 0);
    CHECK(has(room.text("old.csv"), "Heron"));
    CHECK_FALSE(std::filesystem::exists(room.file("old.csv.writing")));
    CHECK(room.run("athletes export-list no/such/folder.csv --store a.db").code != 0);
}

TEST_CASE("two athletes run the same drill with the same seed, each with an id of their own") {
    const Room room;
    for (const char* athlete : {"Heron", "Curlew"}) {
        const Said said =
            room.run("drill drop-of-a-single-kick --rig simulated --fast --seed 5 --store a.db --athlete " +
                     std::string(athlete));
        CAPTURE(said.err);
        CHECK(said.code == 0);
    }
    CHECK(athletes_in(room, "a.db").size() == 2);
}

TEST_CASE("who changes, joins or erases somebody in a store that is not there makes none") {
    const Room room;
    for (const char* command : {"athletes change Heron --grade green", "athletes erase Heron --yes",
                                "athletes join Heron Egret --yes"}) {
        CAPTURE(command);
        const Said said = room.run(std::string(command) + " --store none.db");
        CHECK(said.code == 2);
        CHECK(has(said.err, "there is no store"));
        CHECK(has(said.err, "--store"));
        CHECK_FALSE(std::filesystem::exists(room.file("none.db")));
    }
}
