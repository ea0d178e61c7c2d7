// `evening` and `rigs calibrate` as a coach types them, on a simulated rig: what is asked, what is answered when the
// answer makes no sense, and what is said when the rig is not there or goes away. What is judged is what was said.
#include <doctest/doctest.h>

#include <sys/wait.h>
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <memory>
#include <nlohmann/json.hpp>
#include <set>
#include <sstream>
#include <string>
#include <utility>
#include <vector>

#include "core/evening/evening_events.hpp"
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

/// Rounds of that drill alone.
void write_plan(const Room& room, int minutes) {
    room.write("plan.toml",
               "[[block]]\ntitle = \"rounds\"\nkind = \"rounds\"\ndrill = \"a-short-one\"\nsets = 2\nminutes = " +
                   std::to_string(minutes) + "\n");
}

std::unique_ptr<Store> opened(const Room& room) {
    StoreOptions options;
    options.mode = StoreMode::read_only;
    auto store = Store::open(room.file("e.db"), options);
    REQUIRE(store.has_value());
    return std::move(*store);
}

}  // namespace

TEST_CASE("an evening finds the rig, says what is stale, asks again where an answer makes no sense, and ends") {
    const Room room;
    const SimulatedRigProcess rig;
    const Said said =
        typed_into(room, "evening --headless --store e.db --rig " + rig.path, R"(printf 'Heron\nno\n99\n\n')");
    CHECK(said.code == 0);
    for (const char* part : {"Looking for the rig", "pad   high left", "gate  near", "clock good to",
                             "sound  never calibrated", "screen never calibrated", "Nobody is here.", "Good night."})
        CHECK_MESSAGE(has(said.out, part), part);
    CHECK(times(said.out, "Who is here?") == 3);
    CHECK(has(said.out, "Nobody is called Heron. A new athlete? (yes, no)"));
    CHECK(has(said.out, "Heron is not added"));
    CHECK(has(said.out, "\"99\" is none of them"));
    CHECK(room.run("athletes list --store e.db --json").out.find("Heron") == std::string::npos);
}

TEST_CASE("two athletes take turns at one rig until their sets are made, and all of it is kept") {
    const Room room;
    write_short_drill(room);
    write_plan(room, 3);
    const Said said = typed_into(room, "evening --headless --store e.db --rig simulated --plan plan.toml --seed 4",
                                 R"(printf 'Heron Curlew\nyes\nyes\n\n')");
    REQUIRE_MESSAGE(said.code == 0, said.err);
    CHECK_MESSAGE(has(said.out, "At the rig: Heron: A short one, set 1 of 2"), said.out);
    CHECK(has(said.out, "At the rig: Curlew: A short one, set 1 of 2"));
    CHECK(has(said.out, "At the rig: Heron: A short one, set 2 of 2"));
    CHECK(has(said.out, "The evening is over."));
    const auto store = opened(room);
    const auto sessions = store->sessions();
    REQUIRE(sessions.has_value());
    REQUIRE(sessions->size() == 2);
    for (const SessionSummary& session : *sessions) {
        CHECK(session.how == SessionEnd::finished);
        CHECK(session.reps == 4);
    }
    const auto night = store->last_evening();
    REQUIRE(night.has_value());
    REQUIRE(night->has_value());
    CHECK((*night)->ended);
}

TEST_CASE("before it begins a block gets other minutes and another drill, and what makes no sense is said") {
    const Room room;
    write_short_drill(room);
    write_plan(room, 3);
    const Said said = typed_into(room, "evening --headless --store e.db --rig simulated --plan plan.toml --seed 4",
                                 "printf 'Heron\\nyes\\n\\n1 0\\n2 5\\n1 d99\\n1 d0\\n1 4\\n\\n'; until grep -q "
                                 "'At the rig: Heron' out.txt; do sleep 0.1; done; printf 'eyes\\n'");
    REQUIRE_MESSAGE(said.code == 0, said.err);
    for (const char* wrong : {"\"1 0\" is not that", "\"2 5\" is not that", "\"1 d99\" is not that"})
        CHECK_MESSAGE(has(said.out, wrong), said.out);
    CHECK(has(said.out, " 1   4.0 min  rounds"));
    const auto store = opened(room);
    const auto night = store->last_evening();
    REQUIRE(night.has_value());
    std::optional<evening::EveningBegan> began;
    REQUIRE(store
                ->read_evening((*night)->id,
                               [&](const evening::EveningRecord& record) {
                                   if (const auto* first = std::get_if<evening::EveningBegan>(&record.event))
                                       began = *first;
                               })
                .has_value());
    REQUIRE(began);
    REQUIRE(began->blocks.size() == 1);
    CHECK(began->blocks[0].length == std::chrono::minutes(4));
    CHECK(began->blocks[0].drill.empty());
}

TEST_CASE("what the keys ask for is taken, or refused with its reason") {
    const Room room;
    write_short_drill(room);
    write_plan(room, 3);
    const std::string called = "until grep -q 'At the rig: Heron' out.txt; do sleep 0.1; done; ";
    const Said said = typed_into(
        room, "evening --headless --store e.db --rig simulated --plan plan.toml --seed 4",
        "printf 'Heron Curlew\\nyes\\nyes\\n\\n\\n'; " + called +
            "printf 'tx?msore knee\\nk'; until grep -q 'At the rig: Curlew' out.txt; do sleep 0.1; done; printf "
            "'o9\\nHeron\\n'; sleep 0.5; printf 'eno\\n'; sleep 0.5; printf 'eyes\\n'");
    REQUIRE_MESSAGE(said.code == 0, said.err);
    CHECK_MESSAGE(has(said.out, "refused: there is no rep yet"), said.out);
    CHECK(has(said.out, "no such key"));
    CHECK(has(said.out, "n next block"));
    CHECK(has(said.out, "nobody here is 9"));
    CHECK(times(said.out, "  taken") >= 4);
    CHECK(has(said.out, "The evening is over."));
    const auto store = opened(room);
    const auto night = store->last_evening();
    REQUIRE(night.has_value());
    std::vector<evening::Asked> asked;
    REQUIRE(store
                ->read_evening((*night)->id,
                               [&](const evening::EveningRecord& record) {
                                   if (const auto* one = std::get_if<evening::Asked>(&record.event))
                                       asked.push_back(*one);
                               })
                .has_value());
    REQUIRE(asked.size() == 5);
    CHECK(asked[0].request.what == evening::Ask::take_back);
    CHECK(asked[0].answer.kind == evening::AnswerKind::refused);
    CHECK(asked[1].request.text == "sore knee");
    CHECK(asked[2].request.what == evening::Ask::skip);
    CHECK(asked[3].request.what == evening::Ask::someone_else);
    CHECK(asked[4].request.what == evening::Ask::end);
}

TEST_CASE("an evening that is left goes on tonight without a question") {
    const Room room;
    write_short_drill(room);
    write_plan(room, 3);
    // The rig is another one the second time: what a reset board is like.
    const std::string evening = "evening --headless --store e.db --plan plan.toml --rig simulated --seed 4";
    const Said first = typed_into(room, evening,
                                  "printf 'Heron\\nyes\\n\\n\\n'; until grep -q 'At the rig: Heron' out.txt; do sleep "
                                  "0.1; done; printf 'elater\\n'");
    REQUIRE_MESSAGE(first.code == 0, first.err);
    CHECK(has(first.out, "goes on with it tonight"));
    const Said second = typed_into(room, evening, "true");
    REQUIRE_MESSAGE(second.code == 0, second.err);
    CHECK(has(second.out, "Tonight's evening goes on where it was cut off."));
    CHECK_FALSE(has(second.out, "Who is here?"));
    CHECK_MESSAGE(has(second.out, "The evening is over."), second.out);
    const auto store = opened(room);
    const auto sessions = store->sessions();
    REQUIRE(sessions.has_value());
    REQUIRE(sessions->size() == 1);
    CHECK(sessions->front().how == SessionEnd::finished);
    CHECK(sessions->front().reps == 4);
}

TEST_CASE("who said no since the cut takes no more turns, and nothing more of theirs is kept") {
    const Room room;
    write_short_drill(room);
    write_plan(room, 3);
    const std::string evening = "evening --headless --store e.db --plan plan.toml --rig simulated --seed 4";
    const Said first =
        typed_into(room, evening,
                   "printf 'Heron Curlew\\nyes\\nyes\\n\\n\\n'; until grep -q 'At the rig: Heron' out.txt; "
                   "do sleep 0.1; done; printf 'elater\\n'");
    REQUIRE_MESSAGE(first.code == 0, first.err);
    const std::size_t before = opened(room)->sessions()->size();
    REQUIRE(room.run("athletes change Curlew --no-consent --store e.db").code == 0);
    const Said second = typed_into(room, evening, "true");
    REQUIRE_MESSAGE(second.code == 0, second.err);
    CHECK_MESSAGE(has(second.err, "the turns are over"), second.err);
    CHECK_FALSE(has(second.out, "At the rig: Curlew"));
    CHECK(has(second.out, "At the rig: Heron"));
    const auto store = opened(room);
    CHECK(store->sessions()->size() <= std::max<std::size_t>(before, 1));
}

TEST_CASE("who comes late is told the gates of their own height, and nobody else's change, through a cut too") {
    const Room room;
    write_short_drill(room);
    room.write("plan.toml",
               "[[block]]\ntitle = \"pairs\"\ndrill = \"taking-turns\"\nminutes = 1.5\n"
               "[[block]]\ntitle = \"rounds\"\nkind = \"rounds\"\ndrill = \"a-short-one\"\nminutes = 4\n");
    const std::vector<std::pair<std::string, std::string>> bands{
        {"Heron", "140-150"}, {"Curlew", "170-180"}, {"Dunlin", "120-130"}};
    for (const auto& [name, band] : bands)
        REQUIRE(room.run("athletes add " + name + " --height-band " + band + " --store e.db").code == 0);
    const std::string evening = "evening --headless --store e.db --plan plan.toml --rig simulated --seed 4";
    // The pairs are told again with who came.
    const Said first =
        typed_into(room, evening,
                   "printf 'yes\\nyes\\nyes\\nHeron Curlew\\n\\n\\n'; until grep -q 'pairs of one height' out.txt; do "
                   "sleep 0.1; done; printf 'aDunlin\\n'; until grep -q 'Dunlin and Heron' out.txt; do "
                   "sleep 0.1; done; printf 'n'; sleep 0.5; printf 'elater\\n'");
    REQUIRE_MESSAGE(first.code == 0, first.err);
    CHECK_MESSAGE(has(first.out, "1 Heron and Curlew"), first.out);
    CHECK_MESSAGE(has(first.out, "1 Dunlin and Heron; 2 Curlew and the coach"), first.out);
    const Said second = typed_into(room, evening, "true");
    REQUIRE_MESSAGE(second.code == 0, second.err);
    // Whoever is called, the gates that are named are their own.
    std::istringstream lines(first.out + second.out);
    std::string called;
    std::set<std::string> told;
    for (std::string line; std::getline(lines, line);) {
        for (const auto& [name, band] : bands) {
            if (has(line, std::string("At the rig: ") + name)) called = band;
            if (has(line, std::string("Gates to ") + band) && !called.empty()) {
                CHECK_MESSAGE(called == band, line);
                told.insert(band);
            }
        }
    }
    CHECK_MESSAGE(told.size() == 3, first.out, second.out);
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

TEST_CASE("a rig that goes away in the middle of a turn is said, and the evening can be ended") {
    const Room room;
    write_short_drill(room);
    write_plan(room, 3);
    const SimulatedRigProcess rig("--minutes 3 --seed 4");
    const Said said = typed_into(room, "evening --headless --store e.db --plan plan.toml --rig " + rig.path,
                                 "printf 'Heron\\nyes\\n\\n\\n'; " + rig.ended_after("At the rig: Heron", "out.txt") +
                                     "; until grep -q 'does not answer' out.txt; do sleep 0.1; done; printf 'eyes\\n'");
    CHECK_MESSAGE(said.code == 0, said.err);
    CHECK_MESSAGE(has(said.out, "is gone"), said.out);
    CHECK(has(said.out, "Good night."));
}

TEST_CASE("an evening asks who was never asked, until it is answered, and ends with what was the evening's only") {
    const Room room;
    write_short_drill(room);
    write_plan(room, 3);
    for (const char* name : {"Dunlin", "Heron", "Rook"})
        REQUIRE(room.run(std::string("athletes add ") + name + " --store e.db").code == 0);
    REQUIRE(room.run("athletes add Wren --birth-year 2020 --store e.db").code == 0);
    const std::string evening = "evening --headless --store e.db --plan plan.toml --seed 4 --rig simulated";
    const Said first = typed_into(room, evening, R"(printf 'yes\nperhaps\nno\nlater\n\n')");
    REQUIRE_MESSAGE(first.code == 0, first.err);
    CHECK(times(first.out, "May Dunlin's results be kept? (yes, no, later)") == 1);
    CHECK(times(first.out, "May Heron's results be kept?") == 2);
    CHECK(times(first.out, "May Rook's results be kept?") == 1);
    CHECK_FALSE(has(first.out, "May Wren's"));
    CHECK(has(first.out, "nobody was asked yet for consent to keep results of Wren"));
    CHECK(has(first.out, "\"perhaps\" is none of them"));
    const Said second = typed_into(room, evening, R"(printf '\n2 Dunlin\n\n')");
    REQUIRE_MESSAGE(second.code == 0, second.err);
    CHECK_FALSE(has(second.out, "May Dunlin's"));
    CHECK_FALSE(has(second.out, "May Heron's"));
    CHECK(times(second.out, "May Rook's results be kept?") == 1);
    CHECK_MESSAGE(has(second.err, "this evening only"), second.err);
    CHECK(has(second.out, "At the rig: Heron: A short one"));
    CHECK(has(second.out, "gone now: tonight's results of Heron."));
    CHECK_FALSE(std::filesystem::exists(room.file("e.tonight.db")));
    const auto athletes = nlohmann::json::parse(room.run("athletes list --json --store e.db").out).at("athletes");
    REQUIRE(athletes.size() == 4);
    CHECK(athletes.at(0).at("consent") == "given");
    CHECK(athletes.at(0).at("consent_by") == "the athlete");
    CHECK(athletes.at(1).at("consent") == "refused");
    CHECK(athletes.at(2).at("consent") == "not asked");
    CHECK(athletes.at(3).at("consent") == "not asked");
    const auto store = opened(room);
    // The other's alone; and the evening's journal names nobody whose results are not kept.
    const auto sessions = store->sessions();
    REQUIRE(sessions->size() == 1);
    const auto known = store->athletes();
    const auto night = store->last_evening();
    REQUIRE(night->has_value());
    std::size_t named = 0;
    REQUIRE(store
                ->read_evening((*night)->id,
                               [&](const evening::EveningRecord& record) {
                                   for (const Athlete& each : *known)
                                       if (each.call_sign == "Heron" && athlete_of(record.event) == each.id) ++named;
                               })
                .has_value());
    CHECK(named == 0);
}
