// `demo --evening` as it is typed: an evening with everything that goes wrong in one, held against what was planted.
#include <doctest/doctest.h>

#include <nlohmann/json.hpp>
#include <string>

#include "support/room.hpp"

using namespace breakstep::testing;

namespace {

nlohmann::json figures_of(const Said& said) {
    REQUIRE_MESSAGE(said.code == 0, said.err);
    const std::string text = said.out.substr(0, said.out.find_last_not_of('\n') + 1);
    const auto line = text.find_last_of('\n');
    return nlohmann::json::parse(line == std::string::npos ? text : text.substr(line + 1));
}

}  // namespace

TEST_CASE("in a whole evening no set is lost, doubled or given to another, and every rest is long enough") {
    const Room room;
    const auto figures =
        figures_of(room.run("demo --evening --fast --headless --json --minutes 45 --seed 3 --store e.store"));
    CHECK(figures.at("athletes") == 16);
    CHECK(figures.at("sets") > 15);
    CHECK(figures.at("reps") > 100);
    CHECK(figures.at("lost") == 0);
    CHECK(figures.at("doubled") == 0);
    CHECK(figures.at("given_to_another") == 0);
    CHECK(figures.at("work_rest_broken") == 0);
    CHECK(figures.at("words_at_once") > 20);
    CHECK(figures.at("word_after_contact_ms_p99") < 250);
    CHECK(figures.at("click_after_contact_ms_p99") < 60);
    CHECK(figures.at("subtitled") > 80);
    CHECK(figures.at("subtitles_off_ms_most") < 20);
    SUBCASE("the same seed gives the same object") {
        CHECK(figures_of(room.run("demo --evening --fast --headless --json --minutes 45 --seed 3 --store f.store")) ==
              figures);
    }
    SUBCASE("each session scores again to the bit, those with sets apart too") {
        for (int session = 1; session <= 12; ++session) {
            CAPTURE(session);
            const Said said = room.run("rescore " + std::to_string(session) + " --json --store e.store");
            CHECK_MESSAGE(said.code == 0, said.err);
        }
    }
}

TEST_CASE("an evening cut off again and again loses nothing, doubles nothing and gives nothing to another") {
    const Room room;
    const auto figures =
        figures_of(room.run("demo --evening --fast --headless --json --minutes 30 --cuts 12 --seed 5 --store e.store"));
    CHECK(figures.at("sets") > 5);
    CHECK(figures.at("lost") == 0);
    CHECK(figures.at("doubled") == 0);
    CHECK(figures.at("given_to_another") == 0);
    CHECK(figures.at("work_rest_broken") == 0);
}

TEST_CASE("a capture of an evening with sets apart replays byte for byte") {
    const Room room;
    static_cast<void>(figures_of(
        room.run("demo --evening --fast --headless --json --minutes 20 --seed 4 --store e.store --capture e.capture")));
    const Said said = room.run("replay e.capture --store e.store");
    CHECK_MESSAGE(said.code == 0, said.out);
    CHECK(said.out.find("differ") == std::string::npos);
    CHECK(said.out.find("identical") != std::string::npos);
}

TEST_CASE("a drill's file is checked before the evening") {
    const Room room;
    const Said good = room.run("drills check hunted --json");
    REQUIRE_MESSAGE(good.code == 0, good.err);
    const auto json = nlohmann::json::parse(good.out);
    CHECK(json.at("minutes_alone") >= json.at("minutes_at_the_rig"));
    CHECK(json.at("too_much").at("8 to 10").get<std::string>().find("hunted") != std::string::npos);
    CHECK(json.at("too_much").at("14").get<std::string>().find("hunted") == std::string::npos);
    room.write("wrong.toml", "title = 'x'\nsets = 'many'\n");
    const Said wrong = room.run("drills check ./wrong.toml");
    CHECK(wrong.code == 2);
    CHECK(wrong.err.find("wrong.toml") != std::string::npos);
    CHECK(room.run("drills check no-such-drill").code == 2);
}
