// The evening fold alone: how blocks follow each other, what they take, and who is called in them.
#include <doctest/doctest.h>

#include <algorithm>

#include "core/trade/junior.hpp"
#include "unit/evening/floor.hpp"

using namespace breakstep;
using namespace breakstep::evening;

TEST_CASE("juniors' rounds call juniors, adults' rounds adults") {
    Floor floor({rounds(2000s, Who::juniors), rounds(2000s, Who::adults)});
    floor.came(1, 12);
    floor.came(2, 40);
    floor.came(3, 0);  // not known: an adult
    floor.play();
    std::map<AthleteId, int> sets;
    for (const SetMade& set : floor.sets) ++sets[set.by];
    CHECK(sets[athlete(1)] == 3);
    CHECK(sets[athlete(2)] == 3);
    CHECK(sets[athlete(3)] == 3);
    CHECK(floor.sets.front().by == athlete(1));
}

TEST_CASE("children get the dose of their age, adults what the drill asks") {
    CHECK(dose_for(8, {10, 5}) == Dose{6, 3});
    CHECK(dose_for(13, {10, 5}) == Dose{8, 3});
    CHECK(dose_for(14, {12, 5}) == Dose{10, 4});
    CHECK(dose_for(15, {12, 5}) == Dose{12, 5});
    CHECK(dose_for(0, {12, 5}) == Dose{12, 5});
    CHECK(dose_for(9, {4, 1}) == Dose{4, 1});
    CHECK(rest_after(40s, 20) == 60s);
    CHECK(rest_after(40s, 14) == 160s);
}

TEST_CASE("what a block takes is told beforehand, and how much of it fits") {
    Floor floor({rounds(600s)});
    for (std::uint64_t i = 1; i <= 5; ++i) floor.came(i, 20);
    floor.decide();
    const Fit fit = fit_of(floor.state, floor.state.began.blocks[0]);
    CHECK(fit.sets == 15);
    CHECK(fit.needed == 15 * (35s + change_time));
    CHECK(fit.sets_that_fit() == 12);
}

TEST_CASE("heights stand in order, so that gates move once") {
    Floor floor({rounds(6000s)});
    for (std::uint64_t i = 1; i <= 10; ++i) floor.record(AthleteCame{athlete(i), 20, i % 2 == 0 ? 1 : 2});
    floor.play();
    std::int32_t moves = 0, gates = 0;
    for (const SetMade& set : floor.sets) {
        const std::int32_t order = floor.state.find(set.by)->height_order;
        if (gates != 0 && order != gates) ++moves;
        gates = order;
    }
    CHECK(floor.sets.size() == 30);
    CHECK(moves == 1);
}

TEST_CASE("a forecast plays the block beforehand: what it needs with all rests, and what fits") {
    const auto dose = [](const Person& person, const Block& block) -> std::optional<DoseGiven> {
        return DoseGiven{person.athlete, "any", 10, block.sets, 35s, false};
    };
    std::vector<AthleteCame> five;
    for (std::uint64_t i = 1; i <= 5; ++i) five.push_back({athlete(i), 20, 0, ""});
    Block block = rounds(750s);
    block.sets = 3;
    const Forecast whole = forecast(five, block, dose);
    CHECK(whole.athletes == 5);
    CHECK(whole.sets == 15);
    CHECK(whole.needed == 15 * (35s + change_time));
    CHECK(whole.fits());
    block.length = 500s;
    const Forecast part = forecast(five, block, dose);
    CHECK_FALSE(part.fits());
    CHECK(part.sets_that_fit == 10);
    // One child alone rests four times its work.
    block.length = 1200s;
    const Forecast alone = forecast({{athlete(1), 9, 0, ""}}, block, dose);
    CHECK(alone.needed >= 3 * 35s + 2 * 140s);
    CHECK(forecast(five, {BlockKind::hall, 600s, "drink", Who::all, ""}, dose).sets == 0);
}

TEST_CASE("a child's round is as much shorter as a set of theirs, and its length is the round's") {
    Drill edge;
    edge.start = StartKind::free;
    edge.partner.source = AttackSource::partner;
    edge.partner.round = 60s;
    edge.reps = 10;
    edge.rest = 60s;
    CHECK(set_length(edge) == 60s);
    const Drill child = dosed(edge, 9);
    CHECK(child.partner.round == 36s);
    CHECK(child.rest == rest_after(36s, 9));
    CHECK(dosed(edge, 12).partner.round == 48s);
    CHECK(dosed(edge, 30) == edge);
    CHECK(in_sets_of(edge, 5).partner.round == 30s);
}
