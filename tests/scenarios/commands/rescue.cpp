// A damaged store, as a coach meets it: the error names the command that saves what is whole, and the command does.
#include <doctest/doctest.h>

#include <nlohmann/json.hpp>
#include <string>

#include "stored.hpp"

using namespace breakstep::testing;
using nlohmann::json;

namespace {

constexpr std::size_t page_bytes = 4096;

std::string overwritten(std::string bytes, std::size_t begin, std::size_t count) {
    return bytes.replace(begin, count, count, '\xa5');
}

// The page that holds the most of these texts.
std::size_t page_with(const std::string& store, const std::string& text) {
    std::size_t best = 0, most = 0;
    for (std::size_t page = 1; page * page_bytes < store.size(); ++page) {
        const std::string bytes = store.substr(page * page_bytes, page_bytes);
        std::size_t count = 0;
        for (std::size_t at = bytes.find(text); at != std::string::npos; at = bytes.find(text, at + 1)) ++count;
        if (count > most) best = page, most = count;
    }
    REQUIRE(most > 3);
    return best;
}

}  // namespace

TEST_CASE("the error of a damaged store names the command that saves what is whole, and the command does") {
    const Room room;
    REQUIRE(room.run("demo --headless --fast --seed 3 --store a.db").code == 0);
    const std::string whole = room.text("a.db");
    REQUIRE(whole.size() > 40 * page_bytes);
    const std::size_t middle = whole.size() / page_bytes / 2 * page_bytes;
    const json before = athletes_in(room, "a.db");
    struct Damage {
        const char* what;
        std::string store;
        bool all_reps;
    };
    for (const Damage& damage :
         {Damage{"the header", overwritten(whole, 0, 100), true},
          Damage{"the whole first page", overwritten(whole, 0, page_bytes), true},
          Damage{"a page in the middle, of events", overwritten(whole, middle, page_bytes), true},
          Damage{"a page of reps", overwritten(whole, page_with(whole, "on time") * page_bytes, page_bytes), false},
          Damage{"cut short", whole.substr(0, middle + 100), false}}) {
        CAPTURE(damage.what);
        room.write("b.db", damage.store);
        const Said met = room.run("export - --json --store b.db");
        const Said met_by_rescoring = room.run("rescore 2 --store b.db");
        const std::string& told = met.code != 0 ? met.err : met_by_rescoring.err;
        const std::string advice = "rescue NEW-FILE --store " + room.file("b.db");
        REQUIRE_MESSAGE(has(told, "`breakstep " + advice + "`"), told);
        const Said said = room.run("rescue new.db --json --store b.db");
        REQUIRE_MESSAGE(said.code == 0, said.err);
        const json report = json::parse(said.out);
        CHECK(report.at("athletes") == 4);
        CHECK(report.at("sessions") == 4);
        const int reps = report.at("reps"), lost = report.at("reps_missing");
        CHECK(reps > 0);
        CHECK((lost == 0) == damage.all_reps);
        CHECK(athletes_in(room, "new.db") == before);
        CHECK(room.run("export - --json --store new.db").code == 0);
        CHECK(room.text("b.db") == damage.store);
        // As the page says: what was saved takes the damaged store's place, which is kept.
        const Said restored = room.run("restore new.db --json --even-damaged --store b.db");
        REQUIRE_MESSAGE(restored.code == 0, restored.err);
        CHECK(athletes_in(room, "b.db") == before);
        std::filesystem::remove(room.file("b.db"));
        std::filesystem::remove(room.file("new.db"));
    }
}

TEST_CASE("rescuing tells on a page what was lost and how to go on") {
    const Room room;
    REQUIRE(room.run("demo --headless --fast --seed 3 --store \"it's.db\"").code == 0);
    const std::string whole = room.text("it's.db");
    room.write("it's.db", whole.substr(0, whole.size() / 2));
    const Said said = room.run("rescue new.db --store \"it's.db\"");
    REQUIRE_MESSAGE(said.code == 0, said.err);
    CHECK(has(said.out, "not whole"));
    CHECK(has(said.out, "reps that are lost"));
    CHECK(has(said.out, "breakstep restore new.db --store 'it'\\''s.db' --even-damaged"));
    CHECK(room.run("rescue new.db --store \"it's.db\"").code == 2);
    CHECK(room.run("rescue other.db --store nowhere.db").code == 2);
}
