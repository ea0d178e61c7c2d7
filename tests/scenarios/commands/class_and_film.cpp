// A class without a rig and the subtitles of a film, as they are typed.
#include <doctest/doctest.h>

#include <nlohmann/json.hpp>

#include <set>
#include <string>

#include "support/room.hpp"

using namespace breakstep::testing;

TEST_CASE("a class is planned without a window, the same for the same seed") {
    const Room room;
    const Said one = room.run("pairs untidy-beginner --headless --json --seed 4 --pairs 3 --rounds 2 --cues 5");
    REQUIRE_MESSAGE(one.code == 0, one.err);
    CHECK(one.out == room.run("pairs untidy-beginner --headless --json --seed 4 --pairs 3 --rounds 2 --cues 5").out);
    CHECK(one.out != room.run("pairs untidy-beginner --headless --json --seed 5 --pairs 3 --rounds 2 --cues 5").out);
    const auto json = nlohmann::json::parse(one.out);
    REQUIRE(json.at("rounds").size() == 2);
    CHECK(json.at("rounds")[0].at("attacks") == "first");
    CHECK(json.at("rounds")[1].at("attacks") == "second");
    for (const auto& round : json.at("rounds")) {
        REQUIRE(round.at("cues").size() == 5);
        for (const auto& cue : round.at("cues")) {
            CHECK(cue.at("until_s").get<double>() - cue.at("at_s").get<double>() == doctest::Approx(3));
            REQUIRE(cue.at("pairs").size() == 3);
            for (const auto& pair : cue.at("pairs"))
                if (pair.at("attack") == "feint") CHECK(pair.at("moment").is_null());
        }
    }
}

TEST_CASE("a class that can't be is refused with what to do, and one without a window says so") {
    const Room room;
    CHECK(room.run("pairs feints --headless --athletes Heron,Curlew,Teal").code == 2);
    CHECK(has(room.run("pairs feints --headless --athletes Heron,Curlew,Teal").err, "two for each pair"));
    CHECK(room.run("pairs feints --headless --pairs 11").code == 2);
    CHECK(room.run("pairs quux --headless").code == 2);
    const Said words = room.run("pairs feints --headless --seed 2 --athletes Heron,Curlew");
    CHECK(words.code == 0);
    CHECK(has(words.out, "round 2: the second of each pair attacks"));
}

TEST_CASE("every rep of an evening stands in the subtitles of its film, from the one flash that opened it") {
    const Room room;
    const Said played = room.run("demo --fast --headless --json --seed 3 --store f.store");
    REQUIRE_MESSAGE(played.code == 0, played.err);
    std::size_t reps = 0;
    const auto sessions = nlohmann::json::parse(played.out).at("sessions");
    for (const auto& session : sessions)
        for (const auto& rep : session.at("reps")) reps += rep.at("attack") != "nothing" ? 1 : 0;
    const Said list = room.run("export - --subtitles --json --store f.store");
    REQUIRE_MESSAGE(list.code == 0, list.err);
    const auto captions = nlohmann::json::parse(list.out).at("captions");
    std::size_t told = 0;
    double last = 0;
    std::set<std::string> athletes;
    for (const auto& caption : captions) {
        CHECK(caption.at("from_s").get<double>() >= last);
        last = caption.at("from_s").get<double>();
        athletes.insert(caption.at("athlete"));
        told += caption.at("words").get<std::string>().empty() ? 0 : 1;
    }
    CHECK(told >= reps);
    CHECK(athletes.size() == sessions.size());
    CHECK(room.run("export film.srt --subtitles --store f.store").code == 0);
    CHECK(room.run("export film.vtt --subtitles --store f.store").code == 0);
    const std::string srt = room.text("film.srt"), vtt = room.text("film.vtt");
    CHECK(srt.starts_with("1\n00:0"));
    CHECK(has(srt, ","));
    CHECK(has(srt, " --> "));
    CHECK(vtt.starts_with("WEBVTT\n\n00:0"));
    // None is written over.
    CHECK(room.run("export film.vtt --subtitles --store f.store").code == 2);
    // The second session opened no flash of its own: its reps stand where they stand in the evening's film.
    const Said second = room.run("export - --subtitles --json --of 2 --store f.store");
    REQUIRE_MESSAGE(second.code == 0, second.err);
    const auto of_second = nlohmann::json::parse(second.out).at("captions");
    REQUIRE_FALSE(of_second.empty());
    for (const auto& one : of_second) {
        bool found = false;
        for (const auto& caption : captions)
            found = found || (caption.at("session") == one.at("session") && caption.at("rep") == one.at("rep") &&
                              caption.at("from_s") == one.at("from_s"));
        CHECK(found);
    }
    CHECK(room.run("export - --subtitles --of 99 --store f.store").code == 2);
}

TEST_CASE("a lift that only a lean announces is refused where nothing shows a lean, and pattern or act are named") {
    const Room room;
    const Said refused = room.run("drill meeting-the-lift --headless --rig /nowhere/at-all --athlete Heron");
    CHECK(refused.code == 2);
    CHECK(has(refused.err, "can't be met by lamps alone"));
    CHECK(has(refused.err, "lift-of-a-pattern or lift-drawn"));
    // A simulated athlete sees a simulated screen.
    const Said simulated =
        room.run("drill meeting-the-lift --headless --fast --rig simulated --athlete Egret --seed 2 --json");
    REQUIRE_MESSAGE(simulated.code == 0, simulated.err);
    const auto totals = nlohmann::json::parse(simulated.out).at("sessions")[0].at("totals");
    CHECK(totals.at("leaned").get<int>() > 8);
    CHECK(totals.at("lies").get<int>() > 0);
}

TEST_CASE("a drill before the evening has a film of its own, and no caption is without length") {
    const Room room;
    REQUIRE(room.run("drill test-drop --fast --headless --rig simulated --athlete Heron --store f.store --seed 3").code == 0);
    const Said played = room.run("demo --evening --fast --headless --json --minutes 20 --seed 4 --store f.store");
    REQUIRE_MESSAGE(played.code == 0, played.err);
    const Said list = room.run("export - --subtitles --json --store f.store");
    REQUIRE_MESSAGE(list.code == 0, list.err);
    CHECK_MESSAGE(has(list.err, "1 earlier film of that day has a flash of its own"), list.err);
    const auto captions = nlohmann::json::parse(list.out).at("captions");
    REQUIRE(captions.size() > 50);
    double before = -1;
    for (const auto& caption : captions) {
        CHECK(caption.at("from_s").get<double>() > before);
        before = caption.at("from_s").get<double>();
        CHECK(caption.at("drill") != "test-drop");
    }
    // The first rep comes soon after the flash, and the evening's sets lie where their own flash has them.
    CHECK(captions.front().at("from_s").get<double>() < 30);
}
