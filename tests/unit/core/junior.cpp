// What is too much for children.
#include "core/trade/junior.hpp"

#include <doctest/doctest.h>

using namespace breakstep;

namespace {

Drill drill_of(int sets, int reps, Duration rest) {
    Drill drill;
    drill.sets = sets;
    drill.reps = reps;
    drill.rest = rest;
    return drill;
}

}  // namespace

TEST_CASE("a set of ten single kicks of the intermediate opponent is about 36 s") {
    // Waits of 1.2 + 1.5 s on the mean, and 140 + 220 + 180 + 160 + 250 ms of attack.
    CHECK(set_length(drill_of(2, 10, 60s)) == 36'500ms);
}

TEST_CASE("children are never given what their age is not for") {
    Drill spin = drill_of(2, 8, 60s);
    spin.attacks = {AttackChoice{}};
    CHECK(never_at_age(spin, 9).empty());
    spin.attacks.front().counter = Counter::spin;
    CHECK(never_at_age(spin, 13) == "no spins under 14");
    CHECK(never_at_age(spin, 14).empty());
    CHECK(never_at_age(spin, 0).empty());  // not known
    Drill hunted = drill_of(2, 6, 60s);
    hunted.attacks = {AttackChoice{}};
    hunted.start = StartKind::hunted;
    CHECK(never_at_age(hunted, 10) == "never hunted");
    CHECK(never_at_age(hunted, 11).empty());
    hunted.reps = 7;
    CHECK(never_at_age(hunted, 13) == "hunted for six reps at most");
    Drill door = drill_of(2, 6, 60s);
    door.attacks = {AttackChoice{}};
    door.manners.door_pads = pad_bit(PadRole::high_left);
    CHECK(never_at_age(door, 10) == "no drill that needs high pads");
    CHECK(never_at_age(door, 11).empty());
}

TEST_CASE("a set is as long as what begins its attacks") {
    // A simulated set of eight lures took 51 s; a set that is called begins each wait 2.5 s later.
    Drill lure = drill_of(2, 8, 60s);
    lure.start = StartKind::lure;
    CHECK(set_length(lure) >= 45s);
    CHECK(set_length(lure) <= 60s);
    Drill called = drill_of(2, 10, 60s);
    called.asks.call_it_set = 2;
    CHECK(set_length(called) == set_length(drill_of(2, 10, 60s)) + 25s);
    // A slow opponent that lets itself be drawn is as quick as whoever draws it.
    Drill drawn = drill_of(2, 10, 60s);
    drawn.start = StartKind::drawn;
    drawn.wait_minimum = 4s;
    drawn.wait_extra = 3s;
    CHECK(set_length(drawn) < 45s);
}

TEST_CASE("a junior's reps, sets and rests are watched, an adult's are not") {
    CHECK(too_much_for_a_junior(drill_of(4, 10, 146s), 11).empty());
    CHECK(too_much_for_a_junior(drill_of(4, 11, 170s), 11) == "11 reps a set where 10 are enough");
    CHECK(too_much_for_a_junior(drill_of(5, 6, 170s), 11) == "5 sets where 4 are enough");
    CHECK(too_much_for_a_junior(drill_of(2, 10, 60s), 14) ==
          "60 s of rest after about 36 s of work where 146 s are due");
    CHECK(too_much_for_a_junior(drill_of(1, 10, 1s), 14).empty());  // no rest between sets where there is one
    CHECK(too_much_for_a_junior(drill_of(20, 60, 1s), 15).empty());
}
