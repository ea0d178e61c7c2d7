// The program as a person or a script types it: results, messages and exit codes. What is judged is what was said.
#include <doctest/doctest.h>

#include <fcntl.h>
#include <sqlite3.h>
#include <sys/file.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <string>

#include "places.hpp"
#include "store/store.hpp"
#include "support/room.hpp"

using namespace breakstep;
using namespace breakstep::testing;
namespace fs = std::filesystem;

namespace {

/// A program at the far side of a pty that prints the path it serves. Ended by its id.
class Served {
  public:
    explicit Served(const std::string& command) {
        pipe_ = popen(("echo $$; exec " + command).c_str(), "r");
        id_ = std::atoi(line().c_str());
        path = line();
        if (path.starts_with("rig at ")) path = path.substr(7);
    }
    ~Served() {
        if (id_ > 0) kill(id_, SIGTERM);
        if (pipe_ != nullptr) pclose(pipe_);
    }
    std::string path;

  private:
    std::string line() {
        std::array<char, 256> text{};
        if (pipe_ == nullptr || fgets(text.data(), text.size(), pipe_) == nullptr) return "";
        std::string read = text.data();
        while (!read.empty() && (read.back() == '\n' || read.back() == ' ')) read.pop_back();
        return read;
    }

    FILE* pipe_ = nullptr;
    pid_t id_ = 0;
};

}  // namespace

TEST_CASE("a command that does not exist is named, and the nearest one") {
    const Room room;
    const Said typed = room.run("dril feints");
    CHECK(typed.code == 2);
    CHECK(has(typed.err, "there is no command \"dril\"; did you mean drill?"));
    CHECK(has(room.run("quux").err, "`breakstep --help` lists them"));
    CHECK(room.run("--help").code == 0);
}

TEST_CASE("the demo prints one JSON object, the same for the same seed, and rescore agrees") {
    const Room room;
    const Said first = room.run("demo --headless --fast --json --seed 11 --store a.db");
    REQUIRE(first.code == 0);
    const auto json = nlohmann::json::parse(first.out);
    REQUIRE(json.at("sessions").size() >= 3);
    for (const auto& session : json.at("sessions")) {
        CHECK(session.at("athlete").is_string());
        CHECK(session.at("drill").is_string());
        REQUIRE(session.at("reps").size() >= 5);
        for (const auto& rep : session.at("reps"))
            for (const char* key :
                 {"moment", "phase", "verdict", "scored", "latency_ms", "uncertainty_ms", "commit_ms"})
                CHECK(rep.contains(key));
        CHECK(session.at("totals").contains("on_time_rate"));
    }
    CHECK(json.at("sessions").at(0).at("totals").at("can_be_timed") == "yes");
    CHECK(json.at("sessions").at(1).at("totals").at("can_be_timed") == "no sign");
    CHECK(room.run("demo --headless --fast --json --seed 11 --store b.db").out == first.out);
    CHECK(room.run("demo --headless --fast --json --seed 12 --store c.db").out != first.out);
    for (std::size_t i = 0; i < json.at("sessions").size(); ++i) {
        const Said again = room.run("rescore " + std::to_string(i + 1) + " --json --store a.db");
        REQUIRE(again.code == 0);
        const auto session = nlohmann::json::parse(again.out).at("sessions").at(0);
        CHECK(session.at("reps") == json.at("sessions").at(i).at("reps"));
        CHECK(session.at("totals") == json.at("sessions").at(i).at("totals"));
    }
    const Said words = room.run("rescore 1 --store a.db");
    const std::string last = "compared: the same as what was kept, all " +
                             std::to_string(json.at("sessions").at(0).at("reps").size()) + " reps\n";
    CHECK_MESSAGE(words.out.ends_with(last), words.out);
}

TEST_CASE("rescore ends with what differs from what was kept, and exit code 1") {
    const Room room;
    REQUIRE(room.run("drill in-and-out --rig simulated --fast --headless --seed 3 --store a.db").code == 0);
    CHECK(room.run("rescore last --store a.db").code == 0);
    sqlite3* database = nullptr;
    REQUIRE(sqlite3_open(room.file("a.db").c_str(), &database) == SQLITE_OK);
    REQUIRE(sqlite3_exec(database, "UPDATE reps SET verdict = 'late' WHERE number = 2 AND set_index = 0", nullptr,
                         nullptr, nullptr) == SQLITE_OK);
    sqlite3_close(database);
    const Said said = room.run("rescore last --store a.db");
    CHECK(said.code == 1);
    CHECK_MESSAGE(has(said.out, "compared: differs from what was kept in 1 of "), said.out);
    CHECK(has(said.out, " reps: set 1 rep 2 ("));
    CHECK(has(said.out, ", kept as late)\n"));
}

TEST_CASE("the store holds every event and rep of the demo") {
    const Room room;
    const Said demo = room.run("demo --headless --fast --json --seed 3 --store a.db");
    REQUIRE(demo.code == 0);
    const auto json = nlohmann::json::parse(demo.out);
    StoreOptions options;
    options.mode = StoreMode::read_only;
    const auto store = Store::open(room.file("a.db"), options);
    REQUIRE(store.has_value());
    CHECK((*store)->check().has_value());
    const auto sessions = (*store)->sessions();
    REQUIRE(sessions.has_value());
    REQUIRE(sessions->size() == json.at("sessions").size());
    for (std::size_t i = 0; i < sessions->size(); ++i) {
        CHECK((*sessions)[i].how == SessionEnd::finished);
        CHECK((*store)->reps((*sessions)[i].id)->size() == json.at("sessions").at(i).at("reps").size());
    }
}

TEST_CASE("what is typed wrong is said, with what to do, and a code that is not 0") {
    const Room room;
    room.write("broken.toml", "title = \"x\"\nrepps = 3\n[[attack]]\nkind = \"single\"\n");
    struct Wrong {
        const char* arguments;
        int code;
        const char* says;
    };
    for (const Wrong& wrong : {
             Wrong{"", 2, ""},
             Wrong{"dmeo", 2, ""},
             Wrong{"drill no-such-drill --rig simulated --fast", 2, "take one of these"},
             Wrong{"drill broken.toml --rig simulated --fast", 2, "line 2: repps"},
             Wrong{"drill feints --rig simulated --fast --athlete Dodo", 2, "take one of these"},
             Wrong{"drill feints --fast", 2, "--rig simulated"},
             Wrong{"drill feints --rig /dev/nowhere --headless --store a.db", 3, "no port /dev/nowhere"},
             Wrong{"drill feints --rig /dev/null --headless --store a.db", 3, "no serial port"},
             Wrong{"rescore 5 --store nowhere.db", 2, "nowhere.db"},
             Wrong{"demo --headless --fast --store /nowhere/x.db", 4, "/nowhere"},
             Wrong{"demo --headless --fast --settings none.toml", 2, "none.toml"},
             Wrong{"replay none.capture", 2, "none.capture"},
             Wrong{"demo --seed banana", 2, "seed"},
         }) {
        CAPTURE(wrong.arguments);
        const Said said = room.run(wrong.arguments);
        CHECK(said.code == wrong.code);
        CHECK_MESSAGE(has(said.err + said.out, wrong.says), said.err);
        CHECK_FALSE(said.err.empty());
    }
}

TEST_CASE("a store that another breakstep writes to is said to be in use") {
    const Room room;
    StoreOptions options;
    const auto other = Store::open(room.file("a.db"), options);
    REQUIRE(other.has_value());
    const Said said = room.run("demo --headless --fast --store a.db");
    CHECK(said.code == 4);
    CHECK(has(said.err, "another"));
}

TEST_CASE("a rig on a pty is checked, run, and its run is played again identically") {
    const Room room;
    const Served rig(std::string(BREAKSTEP_PROGRAM) + " simulate-rig --seed 4 --minutes 1.2");
    REQUIRE(rig.path.starts_with("/dev/pts/"));
    const Said check = room.run("rigs check --json --rig " + rig.path);
    REQUIRE_MESSAGE(check.code == 0, check.err);
    const auto json = nlohmann::json::parse(check.out);
    CHECK(json.at("channels").size() == 15);
    CHECK(json.at("bound_us") < 500);
    room.write("short.toml",
               "title = \"short\"\nsets = 1\nreps = 3\nlevel = \"beginner\"\n[[attack]]\nkind = \"single\"\nmoment = "
               "\"drop\"\n");
    const Said run =
        room.run("drill short.toml --headless --json --store s.db --capture c.capture --seed 6 --rig " + rig.path);
    REQUIRE_MESSAGE(run.code == 0, run.err);
    CHECK(nlohmann::json::parse(run.out).at("sessions").at(0).at("ended") == "finished");
    const Said again = room.run("replay c.capture --store s.db");
    CHECK(again.code == 0);
    CHECK(has(again.out, "identical"));
    CHECK(room.run("rescore last --store s.db").code == 0);
}

TEST_CASE("garbage on a port, and a rig of another version, are said for what they are") {
    const Room room;
    // Each opens a pty, prints its path, and writes: noise, or a hello of version 9.
    room.write("noise.py",
               "import os, pty, sys, time, tty\n"
               "near, far = pty.openpty()\ntty.setraw(far)\nprint(os.ttyname(far), flush=True)\n"
               "for i in range(600):\n    os.write(near, bytes((i * 73 + k * k) % 256 for k in range(64)))\n"
               "    time.sleep(0.05)\n");
    room.write("version.py",
               "import os, pty, struct, time, tty, zlib\n"
               "near, far = pty.openpty()\ntty.setraw(far)\nprint(os.ttyname(far), flush=True)\n"
               "hello = bytes([1, 9, 0]) + struct.pack('<QIBBBBHH', 7, 5, 1, 0, 0, 0, 0, 1)\n"
               "plain = hello + struct.pack('<I', zlib.crc32(hello))\n"
               "frame = b''.join(bytes([len(p) + 1]) + p for p in plain.split(bytes(1))) + bytes(1)\n"
               "for i in range(100):\n    os.write(near, bytes(1) + frame)\n    time.sleep(0.2)\n");
    const Served noise("python3 " + room.file("noise.py"));
    const Said garbage = room.run("rigs check --rig " + noise.path);
    CHECK(garbage.code == 3);
    CHECK(has(garbage.err, "answers as a rig"));
    const Served other("python3 " + room.file("version.py"));
    const Said version = room.run("drill feints --headless --store a.db --rig " + other.path);
    CHECK(version.code == 3);
    CHECK(has(version.err, "version 9.0"));
    CHECK(has(version.err, "newer breakstep"));
}

TEST_CASE("a drill begins with what earlier sessions of the athlete taught") {
    const Room room;
    for (int session = 0; session < 3; ++session)
        REQUIRE(room.run("drill drop-of-a-single-kick --rig simulated --fast --athlete Heron --store a.db --seed " +
                         std::to_string(20 + session))
                    .code == 0);
    StoreOptions options;
    options.mode = StoreMode::read_only;
    const auto store = Store::open(room.file("a.db"), options);
    REQUIRE(store.has_value());
    std::vector<std::string> priors;
    const auto sessions = (*store)->sessions();
    REQUIRE(sessions.has_value());
    for (const SessionSummary& session : *sessions) {
        const auto read = (*store)->read_records(session.id, [&](const JournalRecord& record) {
            if (const auto* began = std::get_if<SessionBegan>(&record.event)) priors.push_back(began->prior);
        });
        REQUIRE(read.has_value());
    }
    REQUIRE(priors.size() == 3);
    CHECK(priors[0].empty());
    CHECK_FALSE(priors[1].empty());
    CHECK(priors[2] != priors[1]);
}

TEST_CASE("where no USB port is, one sentence says what to try") {
    const Room room;
    const auto listed = nlohmann::json::parse(room.run("rigs list --json").out).at("ports");
    for (const auto& port : listed)
        if (!port.at("usb_vendor").is_null()) {
            MESSAGE("skipped: a USB port is here");
            return;
        }
    const Said said = room.run("rigs list");
    CHECK(said.code == 0);
    CHECK(std::count(said.err.begin(), said.err.end(), '\n') == 1);
    for (const char* part : {"plug the rig in", "--rig PORT", "pseudo-terminal", "--rig simulated"})
        CHECK_MESSAGE(has(said.err, part), part);
}

TEST_CASE("a path that is not there is waited for, and that is said once") {
    const Room room;
    const Said said = room.run("rigs check --rig /dev/nowhere");
    CHECK(said.code == 3);
    CHECK(has(said.err, "waiting for the rig on /dev/nowhere"));
    CHECK(has(said.err, "there is no port /dev/nowhere"));
    CHECK(std::count(said.err.begin(), said.err.end(), '\n') == 2);
}

TEST_CASE("a port that another program holds is said to be in use") {
    const Room room;
    const Served rig(std::string(BREAKSTEP_PROGRAM) + " simulate-rig --minutes 0.15");
    REQUIRE(rig.path.starts_with("/dev/pts/"));
    const int held = open(rig.path.c_str(), O_RDWR | O_NOCTTY);
    REQUIRE(held >= 0);
    REQUIRE(flock(held, LOCK_EX | LOCK_NB) == 0);
    const Said said = room.run("rigs check --rig " + rig.path);
    CHECK(said.code == 3);
    CHECK(has(said.err, "another program holds it"));
    close(held);
}

TEST_CASE("a rig that a stranger wrote from the protocol's words runs a drill") {
    const Room room;
    const Served rig("timeout 110 python3 " BREAKSTEP_SOURCE_DIR
                     "/tests/scenarios/stranger_rig.py --strike-at 2 --again 4");
    REQUIRE(rig.path.starts_with("/dev/pts/"));
    room.write("short.toml",
               "title = \"short\"\nsets = 1\nreps = 2\nlevel = \"beginner\"\n[[attack]]\nkind = \"single\"\nmoment = "
               "\"drop\"\n");
    const Said run = room.run("drill short.toml --headless --json --store s.db --seed 6 --rig " + rig.path);
    REQUIRE_MESSAGE(run.code == 0, run.err);
    const auto session = nlohmann::json::parse(run.out).at("sessions").at(0);
    CHECK(session.at("ended") == "finished");
    for (const auto& rep : session.at("reps")) CHECK(rep.at("verdict") != "void");
}

TEST_CASE("a full disk is said, and what was recorded before is kept") {
    const Room room;
    // A limit on file size stands for the full disk: the same write fails the same way.
    const std::string command = "cd " + room.folder.string() + " && HOME=" + room.folder.string() +
                                " bash -c 'ulimit -f 192; trap \"\" XFSZ; exec " BREAKSTEP_PROGRAM
                                " demo --headless --fast --seed 2 --store a.db' >out.txt 2>err.txt";
    const int status = std::system(command.c_str());
    REQUIRE(WIFEXITED(status));
    CHECK(WEXITSTATUS(status) == 4);
    CHECK_MESSAGE(!room.text("err.txt").empty(), "it said nothing");
    StoreOptions options;
    options.mode = StoreMode::read_only;
    const auto store = Store::open(room.file("a.db"), options);
    REQUIRE(store.has_value());
    CHECK((*store)->check().has_value());
}
