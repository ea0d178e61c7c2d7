// Whole drills on the practice floor, a small version of the table: for every way in which attacks start, athletes who
// answer are told no more often than promised, by either sign, and those with a beat or a habit are told.
#include <doctest/doctest.h>

#include <array>
#include <vector>

#include "cli/timeable/practice_floor.hpp"
#include "cli/timeable/whole_table.hpp"

using namespace breakstep;
using namespace breakstep::timeable;
using reading::ReadingMethod;

namespace {

constexpr std::array starts{StartKind::random, StartKind::pattern, StartKind::drawn, StartKind::hunted,
                            StartKind::tapped};
constexpr std::uint64_t seed = 20'261'126;

}  // namespace

TEST_CASE("drills on the floor run to their end with every attack answered") {
    for (const StartKind start : starts) {
        CAPTURE(word(start));
        const SessionTotals totals =
            play_on_the_floor(floor_drill(start), honest_athletes()[1], {ReadingMethod::two_signs, seed, 0});
        CHECK(totals.attacks == 40);
        CHECK(totals.voids == 0);
        CHECK(totals.misplaced_events == 0);
        CHECK(totals.stray_contacts == 0);
        CHECK(totals.attacks_contacted + totals.retreats == 40);
        CHECK(totals.retreats > 5);
        CHECK(totals.on_time > 10);
        // A tapped attack comes when the coach sees the athlete move: nothing is bet.
        if (start == StartKind::tapped)
            CHECK(totals.windows == 0);
        else
            CHECK(totals.windows >= 5);
    }
}

TEST_CASE("the same seed gives the same drill") {
    const auto wealth = [](std::uint64_t drill_seed) {
        return play_on_the_floor(floor_drill(StartKind::hunted), honest_athletes()[1],
                                 {ReadingMethod::two_signs, drill_seed, 3})
            .wealth;
    };
    CHECK(wealth(1) == wealth(1));
    CHECK(wealth(1) != wealth(2));
}

TEST_CASE("honest athletes who answer are told in at most 5 of 100 whole drills of every start, by either sign") {
    constexpr std::uint64_t drills = 40;
    std::vector<StartKind> all_starts{starts.begin(), starts.end()};
    all_starts.insert(all_starts.end(), {StartKind::lure, StartKind::countered});
    for (const StartKind start : all_starts) {
        std::uint64_t timed = 0, read = 0, all = 0;
        for (const FloorHabits& habits : honest_athletes()) {
            const ToldInDrills told = tell_on_the_floor(floor_drill(start), habits, drills, seed);
            timed += told.timed;
            read += told.read;
            all += told.drills;
        }
        MESSAGE(word(start), ": timed ", timed, ", read ", read, " of ", all);
        CHECK(20 * timed <= all);
        CHECK(20 * read <= all);
    }
}

TEST_CASE("who never gives ground is told by the plain method where the athlete leads, and by neither of two signs") {
    const FloorHabits& never = honest_athletes()[2];
    REQUIRE(never.choices.retreats[0] == 1.0);
    for (const StartKind start : {StartKind::drawn, StartKind::hunted}) {
        CAPTURE(word(start));
        const ToldInDrills told = tell_on_the_floor(floor_drill(start), never, 20, seed, {.plain = true});
        CHECK_MESSAGE(told.plain >= 18, "the finding: old journals keep it");
        CHECK(told.timed <= 1);
        CHECK(told.read <= 1);
    }
}

TEST_CASE("beat keepers can be timed in every start that leaves them free") {
    for (const StartKind start : {StartKind::random, StartKind::pattern, StartKind::drawn, StartKind::hunted}) {
        CAPTURE(word(start));
        CHECK(tell_on_the_floor(floor_drill(start), beat_keepers()[0], 20, seed).timed >= 16);
    }
}

TEST_CASE("a prior of earlier days tells more of who keeps a beat loosely, and no more of who is free") {
    std::uint64_t strange = 0, known = 0, falsely = 0;
    for (const StartKind start : {StartKind::drawn, StartKind::hunted}) {
        const ToldInDrills keeper = tell_on_the_floor(floor_drill(start), beat_keepers()[4], 40, seed, {.known = true});
        strange += keeper.timed;
        known += keeper.timed_known;
        falsely += tell_on_the_floor(floor_drill(start), honest_athletes()[0], 40, seed, {.known = true}).timed_known;
    }
    MESSAGE("strangers ", strange, ", known ", known, ", falsely ", falsely, " of 80");
    CHECK(known > strange);
    CHECK(falsely <= 4);
}

TEST_CASE("creatures of habit can be read, and are not said to be timed") {
    constexpr std::uint64_t drills = 10;
    const auto told_of = [](StartKind start, std::size_t habit) {
        return tell_on_the_floor(floor_drill(start, 60), creatures_of_habit()[habit], drills, seed);
    };
    for (const StartKind start : {StartKind::random, StartKind::hunted, StartKind::tapped}) {
        CAPTURE(word(start));
        CHECK(told_of(start, 1).read >= 7);
        CHECK(told_of(start, 2).read >= 7);
        CHECK(told_of(start, 2).timed <= 2);
    }
    CHECK(told_of(StartKind::drawn, 3).read >= 7);
    CHECK_MESSAGE(told_of(StartKind::random, 3).read <= 2, "a random drill asks for an answer each time");
}
