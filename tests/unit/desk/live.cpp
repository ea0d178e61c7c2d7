// The live line's numbers.
#include <doctest/doctest.h>

#include "desk/live/seen_json.hpp"
#include "unit/desk/bench.hpp"

using namespace breakstep;
using namespace breakstep::desk;
using breakstep::tests::DeskBench;

namespace {

RepSeen rep(std::uint64_t number, std::int32_t id) {
    RepSeen seen{number, SessionId{5}, AthleteId{7}, {}};
    seen.result.rep = RepId{id};
    return seen;
}
std::size_t count_of(const std::string& text, const std::string& part) {
    std::size_t count = 0;
    for (std::size_t at = text.find(part); at != std::string::npos; at = text.find(part, at + 1)) ++count;
    return count;
}

}  // namespace

TEST_CASE("a phone gets each rep once and in order, however long it slept") {
    DeskBench bench;
    Feed& feed = bench.desk->feed();
    Feed::Place awake, asleep;
    std::string came;
    for (std::uint64_t i = 1; i <= 30; ++i) {
        bench.reps.push_back(rep(i, static_cast<std::int32_t>(i)));
        CHECK(feed.refresh());
        came += feed.missed(awake);
        CHECK(feed.missed(awake).empty());
    }
    const std::string at_once = feed.missed(asleep);
    for (std::uint64_t i = 1; i <= 30; ++i) {
        const std::string number = "\"n\":" + std::to_string(i) + ",";
        CHECK(count_of(came, number) == 1);
        CHECK(count_of(at_once, number) == 1);
        if (i > 1) CHECK(at_once.find(number) > at_once.find("\"n\":" + std::to_string(i - 1) + ","));
    }
    CHECK(awake.rep == 30);
    CHECK(asleep.rep == 30);
}

TEST_CASE("after a new start a phone gets what was before and what is new, from 1 again") {
    DeskBench bench;
    bench.reps = {rep(1, 1), rep(2, 2)};
    bench.desk->feed().refresh();
    Feed::Place place;
    CHECK_FALSE(bench.desk->feed().missed(place).empty());
    CHECK(place.rep == 2);
    bench.house.before = std::exchange(bench.reps, {});
    bench.begin();
    bench.reps = {rep(1, 3)};
    bench.desk->feed().refresh();
    const std::string missed = bench.desk->feed().missed(place);
    CHECK(count_of(missed, "\"n\":") == 3);
    CHECK(place.rep == 3);
    CHECK(place.run == bench.desk->feed().run());
    CHECK(bench.desk->feed().find(SessionId{5}, RepId{1}) != nullptr);
}

TEST_CASE("taps become the lists that timeable and leads read") {
    const auto taps = taps_in(R"({"a":[1,2.5],"b":[1.7,2.5]})");
    REQUIRE(taps);
    CHECK(time_list(taps->a) == "time_s\n1.0000\n2.5000\n");
    CHECK(leads_list(*taps) == "time_s,who\n1.0000,a\n1.7000,b\n2.5000,a\n2.5000,b\n");
    for (const char* wrong : {R"({"a":[2,1]})", R"({"a":[-1]})", R"({"a":[1e9]})", R"({"a":["1"]})", R"({"a":1})"})
        CHECK_FALSE(taps_in(wrong));
}
