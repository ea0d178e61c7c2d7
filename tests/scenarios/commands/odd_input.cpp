// What no coach types on purpose: numbers that are none, folders and endless devices as files, control bytes, a
// megabyte. All is refused with a word; nothing of it reaches the terminal as it came.
#include <doctest/doctest.h>

#include <string>

#include "places.hpp"
#include "store/store.hpp"
#include "support/room.hpp"

using namespace breakstep;
using namespace breakstep::testing;

TEST_CASE("nan, inf and huge numbers are refused by every number option") {
    const Room room;
    room.write("list.csv", "interval_s\n0.8\n0.9\n0.7\n");
    room.write("reps.csv", "evening,on_time\nmon,1\n");
    for (const char* number : {"nan", "-nan", "inf", "-inf", "1e308", "1e999", "-1"})
        for (const char* command :
             {"rigs watch --rig /dev/nowhere --seconds=", "simulate-rig --drift=1e9 --minutes=",
              "simulate-rig --minutes=", "simulate-rig --minutes 0.001 --damage=",
              "simulate-rig --minutes 0.001 --reset-after=", "timeable list.csv --r=", "rung reps.csv --mark="}) {
            const std::string typed = std::string(command) + number;
            CAPTURE(typed);
            const Said said = room.run(typed);
            CHECK(said.code == 2);
            CHECK_FALSE(said.err.empty());
            CHECK(said.out.empty());
        }
    for (const char* number : {"nan", "inf", "1e400", "-nan(7)"}) {
        CAPTURE(number);
        room.write("list.csv", std::string("interval_s\n0.8\n") + number + "\n");
        CHECK(room.run("timeable list.csv").code == 2);
        room.write("acts.csv", std::string("time_s,who\n0.8,a\n") + number + ",b\n");
        CHECK(room.run("leads acts.csv").code == 2);
        room.write("reps.csv", std::string("evening,on_time\nmon,1\nmon,") + number + "\n");
        CHECK(room.run("rung reps.csv").code == 2);
    }
}

TEST_CASE("folders and endless devices are refused quickly wherever a file is named") {
    const Room room;
    for (const char* file : {"/", "/dev/zero", "/dev/full"})
        for (const char* command : {"replay ", "drill --rig simulated --fast --store a.db ", "drills --settings ",
                                    "timeable ", "leads ", "rung "}) {
            const Said said = room.run(std::string(command) + file);
            CAPTURE(command);
            CAPTURE(file);
            CHECK((said.code == 1 || said.code == 2));
            CHECK_FALSE(said.err.empty());
            CHECK(said.out.empty());
        }
}

TEST_CASE("what comes back in messages is shown, not obeyed, and cut") {
    const Room room;
    const std::string long_name(60'000, 'x');
    for (const std::string& name :
         {std::string("$(printf 'a\\033[31mb')"), std::string("$(printf 'a\\302\\23331mb')"), long_name})
        for (const char* command :
             {"drill --rig simulated --fast ", "replay ", "timeable ", "leads ", "rescore --store none.db ", "nonsense",
              "drills --settings ", "demo --seed ", "timeable --method "}) {
            const Said said = room.run(std::string(command) + "\"" + name + "\"");
            CAPTURE(command);
            CHECK(said.code != 0);
            CHECK(said.err.find('\x1b') == std::string::npos);
            CHECK(said.err.find("\xc2\x9b") == std::string::npos);
            CHECK(said.err.size() < 2500);
        }
}

TEST_CASE("a terminal that is closed ends the session as stopped, and it is kept") {
    const Room room;
    room.write("long.toml",
               "title = \"long\"\nsets = 4\nreps = 20\n[[attack]]\nkind = \"single\"\nmoment = \"drop\"\n");
    const std::string command =
        "cd " + room.folder.string() + " && (HOME=" + room.folder.string() +
        " XDG_CONFIG_HOME= XDG_DATA_HOME= BREAKSTEP_CONFIG= exec " + BREAKSTEP_PROGRAM +
        " drill long.toml --headless --rig simulated --store a.db >out.txt 2>err.txt </dev/null) & "
        "id=$!; until grep -q \"rig ready\" err.txt 2>/dev/null; do sleep 0.1; done; "
        "kill -HUP $id; wait $id";
    const int status =
        std::system(("cd " + room.folder.string() + " && timeout 100 sh -c '" + command + "' sh 2>/dev/null").c_str());
    CHECK(WIFEXITED(status));
    StoreOptions options;
    options.mode = StoreMode::read_only;
    const auto store = Store::open(room.file("a.db"), options);
    REQUIRE(store.has_value());
    const auto sessions = (*store)->sessions();
    REQUIRE(sessions.has_value());
    REQUIRE(sessions->size() == 1);
    CHECK(sessions->front().how == SessionEnd::stopped);
}
