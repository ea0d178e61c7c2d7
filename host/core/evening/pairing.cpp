#include "core/evening/pairing.hpp"

#include <algorithm>

#include "core/evening/dose.hpp"

namespace breakstep::evening {
namespace {

void pair_up(std::vector<const Person*> people, std::vector<HallPair>& pairs) {
    std::stable_sort(people.begin(), people.end(),
                     [](const Person* one, const Person* other) { return one->height_order < other->height_order; });
    for (std::size_t i = 0; i < people.size(); i += 2)
        pairs.push_back(
            {people[i]->athlete, i + 1 < people.size() ? std::optional(people[i + 1]->athlete) : std::nullopt});
}

}  // namespace

std::vector<HallPair> pairs_of_one_height(const State& state) {
    std::vector<const Person*> children, adults;
    for (const Person& one : state.people)
        if (one.here && !one.sore) (is_child(one.age) ? children : adults).push_back(&one);
    std::vector<HallPair> pairs;
    pair_up(std::move(children), pairs);
    pair_up(std::move(adults), pairs);
    return pairs;
}

}  // namespace breakstep::evening
