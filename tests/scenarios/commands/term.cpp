// `demo --term` as it is typed: the same seed gives the same term, in a store that is whole, on the dates it says.
#include <doctest/doctest.h>

#include <map>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "store/store.hpp"
#include "support/room.hpp"

using namespace breakstep;
using namespace breakstep::testing;
using nlohmann::json;

namespace {

struct KeptSessions {
    std::vector<SessionSummary> sessions;
    std::vector<RepResult> reps;
};

KeptSessions kept_in(const Room& room, const std::string& name) {
    StoreOptions options;
    options.mode = StoreMode::read_only;
    const auto store = Store::open(room.file(name), options);
    REQUIRE(store.has_value());
    CHECK((*store)->check().has_value());
    KeptSessions kept;
    const auto sessions = (*store)->sessions();
    REQUIRE(sessions.has_value());
    kept.sessions = *sessions;
    REQUIRE((*store)->read_reps([&](SessionId, const RepResult& rep) { kept.reps.push_back(rep); }).has_value());
    return kept;
}

json made(const Room& room, const std::string& arguments) {
    const Said said = room.run("demo --term --json " + arguments);
    REQUIRE_MESSAGE(said.code == 0, said.err);
    return json::parse(said.out);
}

}  // namespace

TEST_CASE("a demo term is the same for the same seed, and its store is whole") {
    const Room room;
    const json term = made(room, "--weeks 2 --seed 5 --store a.db");
    made(room, "--weeks 2 --seed 5 --store b.db");
    made(room, "--weeks 2 --seed 6 --store c.db");
    const KeptSessions first = kept_in(room, "a.db"), second = kept_in(room, "b.db"), other = kept_in(room, "c.db");
    REQUIRE(first.sessions.size() > 40);
    CHECK(first.reps.size() > 1000);
    CHECK(first.sessions == second.sessions);
    CHECK(first.reps == second.reps);
    CHECK(first.reps != other.reps);
    std::int64_t before = 0;
    for (const SessionSummary& session : first.sessions) {
        CHECK(session.how == SessionEnd::finished);
        CHECK(session.began_unix_seconds > before);
        before = session.began_unix_seconds;
    }
    std::size_t reps = 0;
    for (const json& athlete : term.at("athletes")) reps += athlete.at("reps").get<std::size_t>();
    CHECK(reps == first.reps.size());
}

TEST_CASE("progress finds a demo term's athletes on the evenings on which they came") {
    const Room room;
    const json term = made(room, "--weeks 3 --seed 5 --store a.db");
    CHECK(term.at("first_date") == "2026-09-01");
    CHECK(term.at("last_date") == "2026-09-15");
    const Said said = room.run("progress --json --store a.db");
    REQUIRE_MESSAGE(said.code == 0, said.err);
    std::map<std::string, json> found;
    const json progress = json::parse(said.out);
    for (const json& athlete : progress.at("athletes")) found[athlete.at("call_sign")] = athlete;
    CHECK(term.at("athletes").size() == 12);
    CHECK(found.size() == 11);  // Turnstone comes from the sixth week on
    for (const json& athlete : term.at("athletes")) {
        CAPTURE(athlete.at("call_sign").get<std::string>());
        if (athlete.at("evenings") == 0) continue;
        const json& one = found.at(athlete.at("call_sign"));
        CHECK(one.at("evenings") == athlete.at("evenings"));
        CHECK(one.at("claim").at("claim") == "too few evenings");
        for (const json& value : one.at("claim").at("values")) {
            const std::string date = value.at("date");
            CHECK((date == "2026-09-01" || date == "2026-09-08" || date == "2026-09-15"));
        }
    }
}

TEST_CASE("a demo term goes into a new store alone") {
    const Room room;
    made(room, "--weeks 1 --store a.db");
    const KeptSessions before = kept_in(room, "a.db");
    const Said again = room.run("demo --term --weeks 1 --store a.db");
    CHECK(again.code == 2);
    CHECK(has(again.err, "name a new file"));
    CHECK(kept_in(room, "a.db").sessions == before.sessions);
    const Said nowhere = room.run("demo --term");
    CHECK(nowhere.code == 2);
    CHECK(has(nowhere.err, "--store FILE"));
    CHECK(room.run("demo --term --store b.db --capture c.capture").code == 2);
    CHECK(room.run("demo --term --weeks 11 --store b.db").code == 2);
    CHECK(room.run("demo --weeks 2 --store b.db").code == 2);
}
