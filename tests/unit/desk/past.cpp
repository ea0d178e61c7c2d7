// Past sessions, their reps, and what partners felt.
#include <doctest/doctest.h>

#include "desk/live/seen_json.hpp"
#include "unit/desk/bench.hpp"

using namespace breakstep;
using namespace breakstep::desk;
using breakstep::tests::DeskBench;

namespace {

bool has(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

void give_a_session(DeskBench& bench) {
    bench.house.sessions = []() -> Expected<std::vector<SessionSeen>> {
        return std::vector<SessionSeen>{{SessionId{5}, "Heron<", "drop", "2026-11-20", 2}};
    };
    bench.house.session_reps = [](SessionId id) -> Expected<std::vector<RepSeen>> {
        if (id != SessionId{5}) return failure(ErrorKind::not_found, "no such session", "look at the list");
        RepSeen one{0, id, AthleteId{7}, {}}, other = one;
        one.result.rep = RepId{1};
        other.result.rep = RepId{2};
        one.result.number = 1;
        other.result.number = 2;
        other.result.set = 1;
        return std::vector<RepSeen>{one, other};
    };
    bench.begin();
}

}  // namespace

TEST_CASE("a past session is a list of its sets, and each of its reps can be played again") {
    DeskBench bench;
    give_a_session(bench);
    const std::string own = bench.paired();
    const WebResponse list = bench.answer(DeskBench::get("/sessions", own));
    CHECK(list.status == 200);
    CHECK(has(list.body, "/session?id=0000000000000005"));
    CHECK(has(list.body, "Heron&lt;"));
    const WebResponse session = bench.answer(DeskBench::get("/session?id=0000000000000005", own));
    CHECK(session.status == 200);
    CHECK(has(session.body, "Set 1"));
    CHECK(has(session.body, "Set 2"));
    CHECK(has(session.body, "data-rep=\"2\""));
    CHECK(has(session.body, "id=\"replay\""));
    CHECK(bench.answer(DeskBench::get("/replay?session=0000000000000005&rep=2", own)).status == 200);
    for (const char* path : {"/session", "/session?id=5", "/session?id=0000000000000006",
                             "/replay?session=0000000000000005&rep=3", "/replay?session=0000000000000006&rep=1"}) {
        CAPTURE(path);
        CHECK(bench.answer(DeskBench::get(path, own)).status == 404);
    }
    CHECK(bench.answer(DeskBench::get("/session?id=0000000000000005")).status == 303);
}

TEST_CASE("what a partner felt is kept for the set that was asked about, and nothing else is") {
    DeskBench bench;
    std::vector<FeltInSet> kept;
    bench.house.felt = [&](const FeltInSet& felt) -> Expected<void> {
        kept.push_back(felt);
        return {};
    };
    bench.begin();
    const std::string first = bench.paired(), second = bench.paired();
    const std::string good = R"({"session":"0000000000000005","set":2,"felt":"a little"})";
    CHECK(bench.answer(DeskBench::post("/felt", good, first)).status == 200);
    REQUIRE(kept.size() == 1);
    CHECK(kept.front().session == SessionId{5});
    CHECK(kept.front().set == 2);
    CHECK(kept.front().felt == Felt::a_little);
    CHECK(bench.answer(DeskBench::post("/felt", good, second)).status == 403);
    for (const char* body :
         {"", "{}", R"({"session":"5","set":2,"felt":"yes"})", R"({"session":"0000000000000005","set":0,"felt":"yes"})",
          R"({"session":"0000000000000005","set":1.5,"felt":"yes"})",
          R"({"session":"0000000000000005","set":1,"felt":"perhaps"})",
          R"({"session":"0000000000000005","set":1,"felt":"yes","more":1})"}) {
        CAPTURE(body);
        CHECK(bench.answer(DeskBench::post("/felt", body, first)).status == 400);
    }
    CHECK(kept.size() == 1);
}
