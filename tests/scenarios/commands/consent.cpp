// Consent, as a coach meets it: whose results are kept, whose are the evening's only, what is said and how it is
// changed.
#include <doctest/doctest.h>

#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <cstdlib>
#include <ctime>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <string>
#include <tuple>

#include "places.hpp"
#include "store/store.hpp"
#include "stored.hpp"
#include "support/rig_process.hpp"

using namespace breakstep;
using namespace breakstep::testing;
namespace fs = std::filesystem;

namespace {

const std::string drill = "drill feints --rig simulated --fast --headless --seed 3 --store a.db --athlete ";

std::size_t sessions_in(const Room& room, const std::string& store) {
    StoreOptions options;
    options.mode = StoreMode::read_only;
    const auto opened = Store::open(room.file(store), options);
    if (!opened) return 0;
    const auto sessions = (*opened)->sessions();
    REQUIRE(sessions.has_value());
    return sessions->size();
}

std::size_t reps_in(const Room& room, const std::string& store) {
    StoreOptions options;
    options.mode = StoreMode::read_only;
    const auto opened = Store::open(room.file(store), options);
    REQUIRE(opened.has_value());
    std::size_t reps = 0;
    REQUIRE((*opened)->read_reps([&](SessionId, const RepResult&) { ++reps; }).has_value());
    return reps;
}

unsigned mode_of(const std::string& file) {
    struct stat facts {};
    return ::stat(file.c_str(), &facts) == 0 ? static_cast<unsigned>(facts.st_mode & 0777U) : 0;
}

/// All that an evening's file consists of, as if nothing had been recorded since so long ago.
void grow_old(const Room& room, std::chrono::hours by) {
    for (const auto& entry : fs::directory_iterator(room.folder))
        if (has(entry.path().filename().string(), ".tonight.db"))
            fs::last_write_time(entry.path(), fs::last_write_time(entry.path()) - by);
}

std::string date_in(int days) {
    const std::time_t then = std::time(nullptr) + days * 86'400;
    std::tm local{};
    localtime_r(&then, &local);
    char text[16];
    std::strftime(text, sizeof text, "%Y-%m-%d", &local);
    return text;
}

int this_year() { return std::atoi(date_in(0).c_str()); }

/// Heron with a session in the store, kept with consent, which is withdrawn then.
void withdraw(const Room& room) {
    REQUIRE(room.run("athletes add Heron --real-name 'A. Bird' --notes 'left knee' --consent-on 2024-09-30 "
                     "--consent-by guardian --store a.db")
                .code == 0);
    REQUIRE(room.run(drill + "Heron").code == 0);
    const Said said = room.run("athletes change Heron --no-consent --store a.db");
    REQUIRE(said.code == 0);
    CHECK_MESSAGE(has(said.err, "stays in the store"), said.err);
    CHECK(has(said.err, "athletes erase Heron"));
}

}  // namespace

TEST_CASE("a drill after a no leaves nothing in the store, and its results are there until the evening is over") {
    const Room room;
    REQUIRE(room.run("athletes add Heron --no-consent --store a.db").code == 0);
    const Said said = room.run(drill + "Heron");
    CHECK(said.code == 0);
    CHECK_FALSE(said.out.empty());
    for (const char* part : {"Heron", "refused or withdrawn", "this evening only", "--consent-on"})
        CHECK_MESSAGE(has(said.err, part), said.err);
    CHECK(sessions_in(room, "a.db") == 0);
    CHECK(sessions_in(room, "a.tonight.db") == 1);
    CHECK(reps_in(room, "a.tonight.db") > 0);
    CHECK(mode_of(room.file("a.tonight.db")) == 0600);
    // Again on the same evening: beside the first.
    CHECK(room.run(drill + "Heron").code == 0);
    CHECK(sessions_in(room, "a.tonight.db") == 2);
    const Said again = room.run("rescore last --store a.tonight.db");
    CHECK_MESSAGE(again.code == 0, again.err);
    grow_old(room, std::chrono::hours(30));
    const Said next_day = room.run("athletes list --store a.db");
    CHECK(next_day.code == 0);
    CHECK_MESSAGE(has(next_day.err, "are gone"), next_day.err);
    for (const auto& entry : fs::directory_iterator(room.folder)) {
        const std::string name = entry.path().filename().string();
        if (has(name, "tonight")) CHECK_MESSAGE(fs::file_size(entry.path()) == 0, name);
        CHECK_FALSE(name == "a.tonight.db");
    }
    CHECK(room.run("athletes list --store a.db").err.empty());
}

TEST_CASE("an evening's file that is looked into when its evening is over is gone, and whatever looks") {
    for (const char* command : {"rescore last --store a.tonight.db", "progress --store a.db", "check --store a.db",
                                "athletes add Rook --store a.db", "export - --store a.db"}) {
        CAPTURE(command);
        const Room room;
        REQUIRE(room.run("athletes add Heron --no-consent --store a.db").code == 0);
        REQUIRE(room.run(drill + "Heron").code == 0);
        REQUIRE(fs::exists(room.file("a.tonight.db")));
        grow_old(room, std::chrono::hours(30));
        const Said said = room.run(command);
        CHECK_MESSAGE(has(said.err, "are gone"), said.err);
        CHECK_FALSE(fs::exists(room.file("a.tonight.db")));
    }
}

TEST_CASE("a consent that has run out is a no, and one given again makes the next session kept") {
    const Room room;
    REQUIRE(room.run("athletes add Heron --consent-on 2020-01-01 --consent-by guardian --consent-until 2020-12-31 "
                     "--store a.db")
                .code == 0);
    const Said expired = room.run(drill + "Heron");
    CHECK(expired.code == 0);
    CHECK(has(expired.err, "ran out after 2020-12-31"));
    CHECK(sessions_in(room, "a.db") == 0);
    REQUIRE(room.run("athletes change Heron --consent-on 2026-01-01 --consent-until '' --store a.db").code == 0);
    const Said kept = room.run(drill + "Heron");
    CHECK(kept.code == 0);
    CHECK_FALSE(has(kept.err, "consent"));
    CHECK(sessions_in(room, "a.db") == 1);
    CHECK(sessions_in(room, "a.tonight.db") == 1);
    CHECK(athletes_in(room, "a.db").at(0).at("consent") == "given");
}

TEST_CASE("a yes after a no takes the no back, and a no the yes to sharing") {
    const Room room;
    REQUIRE(room.run("athletes add Heron --no-consent --store a.db").code == 0);
    auto heron = athletes_in(room, "a.db").at(0);
    CHECK(heron.at("consent") == "refused");
    CHECK(heron.at("consent_refused_on") == date_in(0));
    CHECK(heron.at("results_kept") == false);
    CHECK(has(room.run("athletes list --store a.db").out, "NO since " + date_in(0)));
    // Sharing what may not be kept can't be.
    CHECK(room.run("athletes change Heron --consent-share-on 2026-01-01 --store a.db").code == 2);
    REQUIRE(room.run("athletes change Heron --consent-on 2026-01-01 --consent-by guardian --store a.db").code == 0);
    heron = athletes_in(room, "a.db").at(0);
    CHECK(heron.at("consent_refused_on").is_null());
    CHECK(heron.at("results_kept") == true);
    CHECK(heron.at("results_shared") == false);
    CHECK(heron.at("consent_share_on").is_null());
    REQUIRE(room.run("athletes change Heron --consent-share-on 2026-01-02 --store a.db").code == 0);
    CHECK(athletes_in(room, "a.db").at(0).at("results_shared") == true);
    REQUIRE(room.run("athletes change Heron --no-consent --store a.db").code == 0);
    heron = athletes_in(room, "a.db").at(0);
    CHECK(heron.at("results_shared") == false);
    CHECK(heron.at("consent_share_on").is_null());
    CHECK(room.run("athletes change Heron --no-consent --consent-on 2026-01-01 --store a.db").code == 2);
}

TEST_CASE("a simulated athlete counts as a yes, asked or not, whatever the age") {
    const Room room;
    REQUIRE(room.run(drill + "Heron").code == 0);
    REQUIRE(room.run("athletes add Curlew --birth-year " + std::to_string(this_year() - 9) + " --store a.db").code ==
            0);
    REQUIRE(room.run(drill + "Curlew").code == 0);
    CHECK(sessions_in(room, "a.db") == 2);
    CHECK_FALSE(fs::exists(room.file("a.tonight.db")));
    CHECK(athletes_in(room, "a.db").at(1).at("consent") == "not asked");
    CHECK(has(room.run("athletes list --store a.db").out, "not asked: Heron"));
}

TEST_CASE("of a junior who was never asked nothing is kept, and of an adult it is") {
    const Room room;
    room.write("short.toml",
               "title = \"short\"\nsets = 1\nreps = 2\nlevel = \"beginner\"\n[[attack]]\nkind = \"single\"\nmoment = "
               "\"drop\"\n");
    REQUIRE(room.run("athletes add Wren --birth-year " + std::to_string(this_year() - 9) + " --store a.db").code == 0);
    REQUIRE(room.run("athletes add Rook --birth-year " + std::to_string(this_year() - 30) + " --store a.db").code == 0);
    const SimulatedRigProcess rig("--minutes 2 --seed 4");
    const std::string typed = "drill short.toml --headless --store a.db --rig " + rig.path + " --athlete ";
    const Said wren = room.run(typed + "Wren");
    REQUIRE_MESSAGE(wren.code == 0, wren.err);
    CHECK(has(wren.err, "nobody was asked yet"));
    CHECK(has(wren.err, "--consent-by guardian"));
    CHECK(sessions_in(room, "a.db") == 0);
    CHECK(sessions_in(room, "a.tonight.db") == 1);
    const Said rook = room.run(typed + "Rook");
    REQUIRE_MESSAGE(rook.code == 0, rook.err);
    CHECK_FALSE(has(rook.err, "consent"));
    CHECK(sessions_in(room, "a.db") == 1);
    CHECK(sessions_in(room, "a.tonight.db") == 1);
}

TEST_CASE("killed in the middle of a drill, the evening's file keeps what was recorded, and the store nothing") {
    const Room room;
    REQUIRE(room.run("athletes add Heron --no-consent --store a.db").code == 0);
    const SimulatedRigProcess rig("--minutes 2 --seed 4");
    // Killed by its own id, once the second rep was told: the first is on the disk by then.
    const std::string command = "cd " + room.folder.string() + " && HOME=" + room.folder.string() +
                                " XDG_CONFIG_HOME= XDG_DATA_HOME= BREAKSTEP_CONFIG= bash -c '" BREAKSTEP_PROGRAM
                                " drill feints --headless --store a.db --athlete Heron --rig " +
                                rig.path +
                                " >out.txt 2>err.txt & drill=$!; for i in $(seq 600); do grep -q \"^ *2 \" err.txt && "
                                "break; sleep 0.1; done; kill -9 $drill; wait $drill'";
    CHECK(std::system(command.c_str()) != -1);
    CHECK_MESSAGE(reps_in(room, "a.tonight.db") > 0, room.text("err.txt"));
    CHECK(sessions_in(room, "a.db") == 0);
    // It is named at the next start, and the evening goes on.
    const Said next = room.run(drill + "Heron");
    CHECK(next.code == 0);
    CHECK_MESSAGE(has(next.err, "was cut off"), next.err);
    CHECK(has(next.err, "until the evening ends"));
    CHECK(sessions_in(room, "a.tonight.db") == 2);
    grow_old(room, std::chrono::hours(30));
    CHECK(room.run("athletes list --store a.db").code == 0);
    CHECK_FALSE(fs::exists(room.file("a.tonight.db")));
}

TEST_CASE("no backup, copy, list or page is made of an evening's file, and no capture of its drill") {
    const Room room;
    REQUIRE(room.run("athletes add Heron --no-consent --store a.db").code == 0);
    const Said capture = room.run(drill + "Heron --capture c.capture");
    CHECK(capture.code == 2);
    CHECK_MESSAGE(has(capture.err, "a capture would stay"), capture.err);
    CHECK_FALSE(fs::exists(room.file("c.capture")));
    REQUIRE(room.run(drill + "Heron").code == 0);
    REQUIRE(room.run("backup b.db --store a.db").code == 0);
    CHECK(sessions_in(room, "b.db") == 0);
    fs::create_symlink(room.file("a.tonight.db"), room.file("link.db"));
    for (const char* command :
         {"backup c.db --store a.tonight.db", "backup c.db --store link.db", "rescue c.db --store a.tonight.db",
          "restore a.tonight.db --store c.db", "restore b.db --store a.tonight.db", "export c.db --store a.tonight.db",
          "report athlete Heron --store a.tonight.db", "report evening --store a.tonight.db",
          "progress --store a.tonight.db", "drill feints --rig simulated --fast --store a.tonight.db",
          "athletes add Rook --store a.tonight.db"}) {
        CAPTURE(command);
        const Said said = room.run(command);
        CHECK(said.code != 0);
        CHECK_MESSAGE(has(said.err, "no page, list or copy"), said.err);
    }
    for (const char* file : {"c.db", "reports"}) CHECK_FALSE(fs::exists(room.file(file)));
    CHECK(sessions_in(room, "a.tonight.db") == 1);
    const SimulatedRigProcess rig("--minutes 2");
    static_cast<void>(room.run("evening --headless --store a.db --rig " + rig.path));
    REQUIRE(fs::exists(room.folder / "a.db.backups" / (date_in(0) + ".db")));
    CHECK(sessions_in(room, "a.db.backups/" + date_in(0) + ".db") == 0);
    CHECK_FALSE(fs::exists(room.file("a.tonight.db")));
}

TEST_CASE("what is kept of somebody whose consent was withdrawn is not shown, which is said, and not erased") {
    const Room room;
    withdraw(room);
    REQUIRE(room.run(drill + "Curlew").code == 0);
    for (const char* command : {"progress --athlete Heron --store a.db", "report athlete Heron --store a.db",
                                "rescore 1 --store a.db", "rescore 1 --json --store a.db"}) {
        CAPTURE(command);
        const Said said = room.run(command);
        CHECK(said.code == 2);
        CHECK(said.out == "");
        for (const char* part :
             {"nothing of Heron is shown", "withdrawn on", "athletes change Heron --consent-on", "athletes erase"})
            CHECK_MESSAGE(has(said.err, part), said.err);
    }
    CHECK_FALSE(fs::exists(room.file("reports")));
    for (const char* command : {"progress --store a.db", "progress --json --store a.db", "export - --store a.db",
                                "export - --table sessions --store a.db", "export - --json --store a.db"}) {
        CAPTURE(command);
        const Said said = room.run(command);
        CHECK(said.code == 0);
        CHECK(has(said.out, "Curlew"));
        CHECK_FALSE(has(said.out, "Heron"));
        CHECK_MESSAGE(has(said.err, "left out: consent to keep results of Heron was refused or withdrawn"), said.err);
        CHECK(has(said.err, "--consent-on"));
    }
    for (const char* command : {"report group --format svg --store a.db", "report evening --format svg --store a.db",
                                "report athlete --all --format svg --store a.db"}) {
        CAPTURE(command);
        const Said said = room.run(command);
        CHECK_MESSAGE(said.code == 0, said.err);
        CHECK_MESSAGE(has(said.err, "left out: consent to keep results of Heron"), said.err);
        CHECK_FALSE(has(said.out, "Heron"));
    }
    CHECK(sessions_in(room, "a.db") == 2);
    REQUIRE(room.run("athletes change Heron --consent-on 2026-01-01 --consent-by guardian --store a.db").code == 0);
    CHECK(has(room.run("export - --store a.db").out, "Heron"));
    CHECK(room.run("report athlete Heron --store a.db").code == 0);
}

TEST_CASE("past results of somebody who said no are not taken in") {
    const Room room;
    REQUIRE(room.run("athletes add Heron --no-consent --store a.db").code == 0);
    room.write("past.csv", "athlete,date,measure,value\nRook,2024-03-02,reaction,250\nheron,2024-03-02,reaction,260\n");
    const Said said = room.run("import past.csv --store a.db");
    CHECK(said.code == 2);
    CHECK_MESSAGE(has(said.err, "refused or withdrawn"), said.err);
    CHECK(has(said.err, "nothing was imported"));
    CHECK(athletes_in(room, "a.db").size() == 1);
}

TEST_CASE("erasing somebody takes the evening's results too") {
    const Room room;
    withdraw(room);
    REQUIRE(room.run(drill + "Heron").code == 0);
    REQUIRE(sessions_in(room, "a.tonight.db") == 1);
    const Said said = room.run("athletes erase Heron --yes --store a.db");
    CHECK(said.code == 0);
    CHECK_MESSAGE(has(said.out, "a.tonight.db too"), said.out);
    CHECK(sessions_in(room, "a.tonight.db") == 0);
    CHECK(sessions_in(room, "a.db") == 0);
}

TEST_CASE("a file that is not ours under the name of an evening's is left alone, and said") {
    const Room room;
    REQUIRE(room.run("athletes add Heron --no-consent --store a.db").code == 0);
    room.write("a.tonight.db", "a shopping list, and quite a long one, so that it is no empty file of a start cut off");
    const Said said = room.run(drill + "Heron");
    CHECK(said.code == 2);
    CHECK(has(said.err, "a.tonight.db"));
    grow_old(room, std::chrono::hours(30));
    const Said next = room.run("athletes list --store a.db");
    CHECK(next.code == 0);
    CHECK_MESSAGE(has(next.err, "none of breakstep's"), next.err);
    CHECK(has(room.text("a.tonight.db"), "shopping"));
}

TEST_CASE("real names and notes leave the store only where they were asked for") {
    const Room room;
    REQUIRE(room.run("athletes add Heron --real-name 'A. Bird' --notes 'left knee' --consent-on 2024-09-30 "
                     "--consent-by guardian --store a.db")
                .code == 0);
    REQUIRE(room.run(drill + "Heron").code == 0);
    for (const char* command :
         {"athletes export-list --store a.db", "athletes export-list --json --store a.db", "export - --store a.db",
          "export - --table sessions --store a.db", "export - --json --store a.db"}) {
        CAPTURE(command);
        const Said plain = room.run(command);
        CHECK(plain.code == 0);
        CHECK(has(plain.out, "Heron"));
        for (const char* kept : {"A. Bird", "left knee"}) CHECK_FALSE(has(plain.out, kept));
        const Said named = room.run(std::string(command) + " --with-names");
        CHECK(named.code == 0);
        for (const char* asked : {"A. Bird", "left knee"}) CHECK_MESSAGE(has(named.out, asked), named.out);
    }
    for (const char* command : {"athlete Heron", "group", "evening"}) {
        CAPTURE(command);
        // A picture holds the same, whatever the real name is, unless it is asked for.
        const std::string report = std::string("report ") + command + " --format png --store a.db --out ";
        REQUIRE(room.run(report + "plain").code == 0);
        REQUIRE(room.run("athletes change Heron --real-name 'B. Bird' --store a.db").code == 0);
        REQUIRE(room.run(report + "other").code == 0);
        REQUIRE(room.run(report + "named --with-names").code == 0);
        for (const auto& entry : fs::directory_iterator(room.folder / "plain")) {
            const std::string name = entry.path().filename().string();
            CHECK_FALSE(has(name, "Bird"));
            CHECK(room.text("plain/" + name) == room.text("other/" + name));
            CHECK_FALSE(room.text("plain/" + name) == room.text("named/" + name));
        }
        fs::remove_all(room.folder / "plain");
    }
    REQUIRE(room.run("athletes export-list out.csv --store a.db").code == 0);
    REQUIRE(room.run("athletes import-list out.csv --store b.db").code == 0);
    CHECK(athletes_in(room, "b.db").at(0).at("real_name").is_null());
}

TEST_CASE("the list and the pages say whose consent ends this month") {
    const Room room;
    REQUIRE(room.run("athletes add Heron --consent-on 2024-09-30 --consent-by guardian --consent-until " + date_in(0) +
                     " --store a.db")
                .code == 0);
    REQUIRE(room.run("athletes add Curlew --consent-on 2024-09-30 --consent-by guardian --consent-until 2199-12-31 "
                     "--store a.db")
                .code == 0);
    for (const char* athlete : {"Heron", "Curlew"}) REQUIRE(room.run(drill + athlete).code == 0);
    const std::string list = room.run("athletes list --store a.db").out;
    CHECK_MESSAGE(has(list, "consent ends this month: Heron\n"), list);
    const auto pages = [&](const std::string& folder) {
        for (const char* command : {"athlete Heron", "athlete Curlew", "group", "evening"})
            REQUIRE(room.run(std::string("report ") + command + " --format png --store a.db --out " + folder).code ==
                    0);
    };
    pages("before");
    REQUIRE(room.run("athletes change Heron --consent-until 2199-12-31 --store a.db").code == 0);
    pages("after");
    for (const auto& entry : fs::directory_iterator(room.folder / "before")) {
        const std::string name = entry.path().filename().string();
        CAPTURE(name);
        CHECK((room.text("before/" + name) == room.text("after/" + name)) == has(name, "Curlew"));
    }
}

TEST_CASE(
    "a drill gives a child the dose of their age, and says so, a file of the coach's own and a test are as written") {
    const Room room;
    const std::string nine = std::to_string(this_year() - 9);
    REQUIRE(room.run("athletes add Curlew --birth-year " + nine + " --store a.db").code == 0);
    const auto run = [&](const std::string& name, const char* who) {
        const Said said = room.run("drill " + name +
                                   " --rig simulated --fast --headless --json --seed 3 --store a.db --athlete " + who);
        REQUIRE_MESSAGE(said.code == 0, said.err);
        const nlohmann::json json = nlohmann::json::parse(said.out);
        int sets = 0, reps = 0;
        for (const auto& rep : json.at("sessions").at(0).at("reps")) {
            sets = std::max(sets, rep.at("set").get<int>());
            if (rep.at("verdict") != "void" && rep.at("attack") != "nothing") ++reps;
        }
        return std::tuple(sets, reps, said.err);
    };
    const auto [sets, reps, said] = run("in-and-out", "Curlew");
    CHECK(reps == 2 * 6);
    CHECK(sets == 2);
    CHECK_MESSAGE(has(said, "2 sets of 6"), said);
    CHECK_FALSE_MESSAGE(has(said, "is much"), said);
    const auto [adult_sets, adult_reps, nothing] = run("in-and-out", "Heron");
    CHECK(adult_reps == 2 * 10);
    CHECK_FALSE(has(nothing, "age"));
    CHECK(std::get<1>(run("test-drop-juniors", "Curlew")) >= 4 * 10);

    fs::copy_file(fs::path(BREAKSTEP_SOURCE_DIR) / "config" / "drills" / "in-and-out.toml", room.file("mine.toml"));
    const auto [own_sets, own_reps, warned] = run("mine.toml", "Curlew");
    CHECK(own_reps == 2 * 10);
    CHECK_MESSAGE(has(warned, "2 sets of 10 where 2 of 6 are enough by age"), warned);
}
