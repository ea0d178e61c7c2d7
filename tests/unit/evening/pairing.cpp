// Who practises with whom in the hall.
#include "core/evening/pairing.hpp"

#include <doctest/doctest.h>

using namespace breakstep;
using namespace breakstep::evening;

namespace {

Person person(std::uint64_t id, std::int32_t age, std::int32_t height) {
    Person one;
    one.athlete = AthleteId{id};
    one.age = age;
    one.height_order = height;
    return one;
}

}  // namespace

TEST_CASE("pairs are of one height, children with children, and an odd one stands with the coach") {
    State state;
    state.people = {person(1, 30, 3), person(2, 12, 1), person(3, 25, 2), person(4, 11, 2),
                    person(5, 40, 3), person(6, 13, 1), person(7, 0, 2)};
    const auto pairs = pairs_of_one_height(state);
    const std::vector<HallPair> wanted = {{AthleteId{2}, AthleteId{6}},
                                          {AthleteId{4}, std::nullopt},
                                          {AthleteId{3}, AthleteId{7}},
                                          {AthleteId{1}, AthleteId{5}}};
    CHECK(pairs == wanted);
}

TEST_CASE("who is sore or has left stands in no pair") {
    State state;
    state.people = {person(1, 30, 1), person(2, 30, 1), person(3, 30, 1)};
    state.people[0].sore = true;
    state.people[2].here = false;
    CHECK(pairs_of_one_height(state) == std::vector<HallPair>{{AthleteId{2}, std::nullopt}});
    CHECK(pairs_of_one_height(State{}).empty());
}
