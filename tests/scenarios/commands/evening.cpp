// `evening` and `rigs calibrate` as a coach types them, on a simulated rig: what is asked, what is answered when the
// answer makes no sense, and what is said when the rig is not there or goes away. What is judged is what was said.
#include <doctest/doctest.h>

#include <sys/wait.h>
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <string>

#include "places.hpp"
#include "store/store.hpp"
#include "support/rig_process.hpp"
#include "support/room.hpp"

using namespace breakstep;
using namespace breakstep::testing;

namespace {

/// Runs it with what `feeder`, a shell command, types.
Said typed_into(const Room& room, const std::string& arguments, const std::string& feeder) {
    const std::string command = "cd " + room.folder.string() + " && (" + feeder +
                                ") 2>/dev/null | HOME=" + room.folder.string() +
                                " XDG_CONFIG_HOME= XDG_DATA_HOME= BREAKSTEP_CONFIG= timeout 110 " + BREAKSTEP_PROGRAM +
                                " " + arguments + " >out.txt 2>err.txt";
    const int status = std::system(command.c_str());
    return {WIFEXITED(status) ? WEXITSTATUS(status) : -1, room.text("out.txt"), room.text("err.txt")};
}

std::size_t times(const std::string& text, const std::string& part) {
    std::size_t found = 0;
    for (std::size_t at = text.find(part); at != std::string::npos; at = text.find(part, at + 1)) ++found;
    return found;
}

/// A drill of two reps among a person's own, so that an evening is short.
void write_short_drill(const Room& room) {
    const auto own = room.folder / ".config" / "breakstep" / "drills";
    std::filesystem::create_directories(own);
    std::ofstream(own / "a-short-one.toml")
        << "title = \"A short one\"\nsets = 1\nreps = 2\nlevel = \"beginner\"\n[[attack]]\nkind = \"single\"\n"
           "moment = \"drop\"\n";
}

/// Its number in the list that the evening shows.
std::string number_of(const std::string& list, const std::string& title) {
    const std::size_t at = list.find(title);
    REQUIRE(at != std::string::npos);
    const std::size_t begin = list.rfind('\n', at) + 1;
    return std::to_string(std::atoi(list.c_str() + begin));
}

}  // namespace

TEST_CASE("an evening finds the rig, says what is stale, asks again where an answer makes no sense, and ends") {
    const Room room;
    const SimulatedRigProcess rig;
    const Said said =
        typed_into(room, "evening --headless --store e.db --rig " + rig.path, R"(printf 'Heron\n99\nabc\n?\n\n\n')");
    CHECK(said.code == 0);
    for (const char* part : {"Looking for the rig", "pad   high left", "gate  near", "clock good to",
                             "sound  never calibrated", "screen never calibrated", "Good night."})
        CHECK_MESSAGE(has(said.out, part), part);
    // The call-sign is asked for once; a wrong number asks for the number again; ? lists the drills a second time.
    CHECK(times(said.out, "Which drill?") == 4);
    CHECK(times(said.out, "Who is at the rig?") == 2);
    CHECK(has(said.out, "\"99\" is none of them"));
    CHECK(has(said.out, "\"abc\" is none of them"));
    CHECK(times(said.out, "Drop of a single kick, front hand") == 2);
}

TEST_CASE("two athletes take their turns in an evening, and both sessions are kept") {
    const Room room;
    write_short_drill(room);
    const SimulatedRigProcess rig("--minutes 2 --seed 4");
    const Said list = typed_into(room, "evening --headless --store e.db --rig " + rig.path, "printf '\\n'");
    const std::string number = number_of(list.out, "A short one");
    const Said said = typed_into(room, "evening --headless --store e.db --rig " + rig.path,
                                 "printf 'Heron\\n" + number + "\\nCurlew\\n" + number + "\\n\\n'");
    REQUIRE_MESSAGE(said.code == 0, said.err);
    CHECK(has(said.out, "Heron: A short one"));
    CHECK(has(said.out, "Curlew: A short one"));
    StoreOptions options;
    options.mode = StoreMode::read_only;
    const auto store = Store::open(room.file("e.db"), options);
    REQUIRE(store.has_value());
    const auto sessions = (*store)->sessions();
    REQUIRE(sessions.has_value());
    REQUIRE(sessions->size() == 2);
    for (const SessionSummary& session : *sessions) CHECK(session.how == SessionEnd::finished);
}

TEST_CASE("an evening or a calibration without a rig says so, with what to do") {
    const Room room;
    for (const char* arguments : {"evening --rig /dev/nowhere --headless --store e.db",
                                  "rigs calibrate --rig /dev/nowhere --headless --store e.db"}) {
        CAPTURE(arguments);
        const Said said = room.run(arguments);
        CHECK(said.code == 3);
        CHECK(has(said.err, "there is no port /dev/nowhere"));
        CHECK(has(said.err, "plug the rig in"));
    }
}

TEST_CASE("a calibration in which everything is left out ends at once, as JSON too, and keeps nothing") {
    const Room room;
    const SimulatedRigProcess rig;
    const Said said = typed_into(room, "rigs calibrate --headless --store c.db --rig " + rig.path, "yes ''");
    REQUIRE_MESSAGE(said.code == 0, said.err);
    CHECK(has(said.err, "Nobody touches the target"));
    CHECK(has(said.err, "Strike the pad high left lightly, 5 times."));
    CHECK(has(said.err, "Block the gate near"));
    CHECK(times(said.out, "not tested") == 4 + 6);
    const Said json = typed_into(room, "rigs calibrate --json --headless --store c.db --rig " + rig.path, "yes ''");
    REQUIRE_MESSAGE(json.code == 0, json.err);
    const auto findings = nlohmann::json::parse(json.out);
    REQUIRE(findings.at("pads").size() == 4);
    REQUIRE(findings.at("gates").size() == 6);
    for (const auto& pad : findings.at("pads")) {
        CHECK(pad.at("skipped") == true);
        CHECK(pad.at("threshold").is_null());
    }
    for (const auto& gate : findings.at("gates")) CHECK(gate.at("verdict") == "skipped");
    CHECK(findings.at("sound").is_null());
    CHECK(findings.at("screen").is_null());
}

TEST_CASE("a rig that goes away during a calibration ends it, and no pad is called dead") {
    const Room room;
    const SimulatedRigProcess rig;
    const Said said = typed_into(room, "rigs calibrate --headless --store c.db --rig " + rig.path,
                                 rig.ended_after("Strike the pad", "err.txt"));
    CHECK(said.code == 3);
    CHECK(has(said.err, "the rig went away during the calibration"));
    CHECK(has(said.err, "begin again"));
    CHECK_FALSE(has(said.out, "DEAD"));
}

TEST_CASE("a rig that goes away in the middle of a turn is said, and the evening goes on to its end") {
    const Room room;
    write_short_drill(room);
    const SimulatedRigProcess rig("--minutes 3 --seed 4");
    const Said list = typed_into(room, "evening --headless --store e.db --rig " + rig.path, "printf '\\n'");
    const std::string number = number_of(list.out, "A short one");
    const Said said =
        typed_into(room, "evening --headless --store e.db --rig " + rig.path,
                   "printf 'Heron\\n" + number + "\\n'; " + rig.ended_after("rig ready", "err.txt") + "; printf '\\n'");
    CHECK(said.code == 0);
    CHECK(has(said.err, "is gone"));
    CHECK(has(said.out, "Good night."));
}

TEST_CASE("an evening asks who was never asked, until it is answered, and ends with what was the evening's only") {
    const Room room;
    write_short_drill(room);
    for (const char* name : {"Dunlin", "Heron", "Rook"})
        REQUIRE(room.run(std::string("athletes add ") + name + " --store e.db").code == 0);
    REQUIRE(room.run("athletes add Wren --birth-year 2020 --store e.db").code == 0);
    const SimulatedRigProcess rig("--minutes 2 --seed 4");
    const std::string evening = "evening --headless --store e.db --rig " + rig.path;
    const Said first = typed_into(room, evening, R"(printf 'yes\nperhaps\nno\nlater\n\n')");
    REQUIRE_MESSAGE(first.code == 0, first.err);
    CHECK(times(first.out, "May Dunlin's results be kept? (yes, no, later)") == 1);
    CHECK(times(first.out, "May Heron's results be kept?") == 2);
    CHECK(times(first.out, "May Rook's results be kept?") == 1);
    CHECK_FALSE(has(first.out, "May Wren's"));
    CHECK(has(first.out, "nobody was asked yet for consent to keep results of Wren"));
    CHECK(has(first.out, "\"perhaps\" is none of them"));
    const std::string number = number_of(first.out, "A short one");
    const Said second = typed_into(room, evening, "printf '\\nHeron\\n" + number + "\\n\\n'");
    REQUIRE_MESSAGE(second.code == 0, second.err);
    CHECK_FALSE(has(second.out, "May Dunlin's"));
    CHECK_FALSE(has(second.out, "May Heron's"));
    CHECK(times(second.out, "May Rook's results be kept?") == 1);
    CHECK_MESSAGE(has(second.err, "this evening only"), second.err);
    CHECK(has(second.out, "Heron: A short one"));
    CHECK(has(second.out, "gone now: tonight's results of Heron."));
    CHECK_FALSE(std::filesystem::exists(room.file("e.tonight.db")));
    const auto athletes = nlohmann::json::parse(room.run("athletes list --json --store e.db").out).at("athletes");
    CHECK(athletes.at(0).at("consent") == "given");
    CHECK(athletes.at(0).at("consent_by") == "the athlete");
    CHECK(athletes.at(1).at("consent") == "refused");
    CHECK(athletes.at(2).at("consent") == "not asked");
    CHECK(athletes.at(3).at("consent") == "not asked");
    StoreOptions options;
    options.mode = StoreMode::read_only;
    const auto store = Store::open(room.file("e.db"), options);
    REQUIRE(store.has_value());
    CHECK((*store)->sessions()->empty());
}
