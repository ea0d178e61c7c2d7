// A class without a rig inside an evening: its clock, its tones, and what a pause does to both.
#include "hall/evening/hall_pairs.hpp"

#include <doctest/doctest.h>

#include <string>

using namespace breakstep;

namespace {

const HostTime start{Duration{7'000'000'000'000}};

Drill small_drill() {
    Drill drill;
    drill.name = drill.title = "pairs";
    drill.attacks = {AttackChoice{}};
    return drill;
}

std::vector<std::pair<std::string, std::string>> two_pairs() { return {{"Heron", "Curlew"}, {"Dunlin", "the coach"}}; }

/// Everything that is told until the class is over, looked at a hundred times a second; paused from `from` to `to`.
struct Told {
    std::vector<StageView> views;
    int tones = 0;
    Duration over{};
};
Told told(HallPairs pairs, Duration from = 0s, Duration to = 0s) {
    Told all;
    for (Duration at{}; at < 3600s; at += 10ms) {
        if (const auto step = pairs.due(start + at, at >= from && at < to)) {
            all.views.push_back(step->view);
            all.tones += step->tone ? 1 : 0;
        }
        if (!all.views.empty() && !pairs.view()) {
            all.over = at;
            break;
        }
    }
    return all;
}

}  // namespace

TEST_CASE("a class fills its block with whole rounds, as many of each side, and ends inside it") {
    for (const Duration block : {200s, 400s, 960s, 3600s}) {
        const auto given = class_that_fits(small_drill(), 5, block, two_pairs());
        REQUIRE(given);
        CHECK(given->rounds.size() % 2 == 0);
        CHECK(given->rounds.back().end < block);
        CHECK(given->rounds.front().cues.size() == 8);
    }
    // Short ones have fewer cues, but both sides attack; the shortest have no class.
    const auto brief = class_that_fits(small_drill(), 5, 90s, two_pairs());
    REQUIRE(brief);
    CHECK(brief->rounds.size() == 2);
    CHECK(brief->rounds.front().cues.size() < 8);
    CHECK_FALSE(class_that_fits(small_drill(), 5, 20s, two_pairs()));
}

TEST_CASE("tones stand at the rounds' begins and ends only, and every step is told once") {
    const auto given = class_that_fits(small_drill(), 5, 400s, two_pairs());
    REQUIRE(given);
    const Told all = told(HallPairs(*given, start));
    CHECK(all.views.size() == steps_of(*given).size());
    CHECK(all.tones == static_cast<int>(2 * given->rounds.size()));
    CHECK(all.over <= 400s);
    CHECK(all.views.front().pairs.change_over);
    CHECK(all.views.front().pairs.tiles[0].attacks == "Heron");
    CHECK(all.views.back().pairs.words == "That was it.");
}

TEST_CASE("a pause holds the class, and its times go on with it") {
    const auto given = class_that_fits(small_drill(), 5, 400s, two_pairs());
    REQUIRE(given);
    const Told straight = told(HallPairs(*given, start));
    const Told paused = told(HallPairs(*given, start), 25s, 85s);
    CHECK(paused.over == straight.over + 60s);
    CHECK(paused.tones == straight.tones);
    // The pause is told, and what stood before it again, a minute later.
    CHECK(paused.views.size() == straight.views.size() + 2);
    CHECK(paused.views.back().pairs.begin == straight.views.back().pairs.begin + 60s);
}

TEST_CASE("a computer that slept through a round stands where the clock is, with one tone") {
    const auto given = class_that_fits(small_drill(), 5, 400s, two_pairs());
    REQUIRE(given);
    HallPairs pairs(*given, start);
    REQUIRE(pairs.due(start, false));
    const auto later = pairs.due(start + given->rounds[1].begin + 1ms, false);
    REQUIRE(later);
    CHECK(later->tone);
    CHECK(later->view.pairs.words == "Back, and wait.");
    CHECK_FALSE(pairs.due(start + given->rounds[1].begin + 2ms, false));
}
