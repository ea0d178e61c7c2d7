#include "core/trade/plan.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <set>

using namespace breakstep;

namespace {

Drill mixed_drill() {
    Drill drill;
    AttackChoice single;
    AttackChoice feint;
    feint.kind = AttackKind::feint;
    single.share = 3;
    drill.attacks = {single, feint};
    drill.lead_sides = LeadSides::both;
    return drill;
}

std::vector<std::pair<std::int32_t, Side>> order_of(const std::vector<PlannedAttack>& plan) {
    std::vector<std::pair<std::int32_t, Side>> order;
    for (const PlannedAttack& planned : plan)
        if (!planned.catch_trial) order.emplace_back(planned.attack, planned.lead);
    return order;
}

}  // namespace

TEST_CASE("the same seed plans the same set and another seed another") {
    const Drill drill = mixed_drill();
    const auto waits = [&](std::uint64_t seed, std::int32_t attempt) {
        std::vector<Duration> all;
        for (const auto& planned : plan_set(drill, seed, 0, 16, 1, attempt)) all.push_back(planned.wait);
        return all;
    };
    CHECK(waits(5, 0) == waits(5, 0));
    CHECK(waits(5, 0) != waits(6, 0));
    CHECK(waits(5, 0) != waits(5, 1));
}

TEST_CASE("whoever leads left meets the mirrored opponent, so that closed is closed and open is open") {
    Drill drill = mixed_drill();
    drill.lead_sides = LeadSides::right;
    CHECK(as_met_by(drill, Side::right) == drill);
    const Drill mirrored = as_met_by(drill, Side::left);
    CHECK(mirrored.lead_sides == LeadSides::left);
    CHECK(as_met_by(mirrored, Side::left) == drill);
    for (const PlannedAttack& planned : plan_set(mirrored, 5, 0, 16, 1, 0)) CHECK(planned.lead == Side::left);
    // The order and the waits are those of everybody.
    CHECK(plan_set(mirrored, 5, 0, 16, 1, 0).back().wait == plan_set(drill, 5, 0, 16, 1, 0).back().wait);
    drill.lead_sides = LeadSides::both;
    CHECK(as_met_by(drill, Side::left) == drill);
    drill.lead_sides = LeadSides::right;
    drill.partner.source = AttackSource::partner;
    CHECK(as_met_by(drill, Side::left) == drill);
}

TEST_CASE("waits do not age: their hazard is flat beyond the minimum") {
    // Quartiles of 1 + Exp(1.5): 1.431523, 2.039721, 3.079442 (computed with R 4.2).
    Random random(11);
    std::vector<double> waits;
    for (int i = 0; i < 200'000; ++i) waits.push_back(static_cast<double>(draw_wait(1s, 1500ms, random).count()) / 1e9);
    std::sort(waits.begin(), waits.end());
    CHECK(waits[50'000] == doctest::Approx(1.431523).epsilon(0.01));
    CHECK(waits[100'000] == doctest::Approx(2.039721).epsilon(0.01));
    CHECK(waits[150'000] == doctest::Approx(3.079442).epsilon(0.01));
    // P(extra > 5) = .035674 (R 4.2); four standard errors of 200,000 draws.
    const auto beyond = std::count_if(waits.begin(), waits.end(), [](double wait) { return wait > 6; });
    CHECK(std::abs(static_cast<double>(beyond) / 200'000 - 0.035674) < 4 * std::sqrt(0.035674 * 0.964 / 200'000));
}

TEST_CASE("a wait beyond the cap becomes a catch trial and the attack comes after a fresh wait") {
    const Drill drill = mixed_drill();
    int catches = 0;
    for (std::uint64_t seed = 0; seed < 200; ++seed) {
        const auto plan = plan_set(drill, seed, 0, 16, 1, 0);
        for (std::size_t i = 0; i < plan.size(); ++i) {
            if (plan[i].catch_trial) {
                ++catches;
                CHECK(plan[i].wait == drill.wait_cap);
                CHECK(plan[i].phases.empty());
                REQUIRE(i + 1 < plan.size());
            } else {
                CHECK(plan[i].wait >= drill.wait_minimum);
                CHECK(plan[i].wait <= drill.wait_cap);
            }
        }
        CHECK(order_of(plan).size() == 16);
    }
    // P(1.2 + Exp(1.5) > 5) = exp(-3.8/1.5) = .0794 a draw.
    CHECK(catches > 150);
    CHECK(catches < 400);
}

TEST_CASE("attacks and sides are balanced over a set of whole rounds") {
    const Drill drill = mixed_drill();
    std::map<std::pair<std::int32_t, Side>, int> counts;
    for (std::uint64_t seed = 0; seed < 100; ++seed)
        for (const auto& slot : order_of(plan_set(drill, seed, 0, 48, 1, 0))) ++counts[slot];
    // A round is 3 singles and 1 feint for each side; a last double block cut short may leave a few over.
    CHECK(std::abs(counts[{0, Side::left}] - 1800) < 60);
    CHECK(std::abs(counts[{0, Side::right}] - 1800) < 60);
    CHECK(std::abs(counts[{1, Side::left}] - 600) < 60);
    CHECK(std::abs(counts[{1, Side::right}] - 600) < 60);
}

TEST_CASE("a test set always holds the same attacks, in one of eight orders, at mean lengths") {
    Drill drill = mixed_drill();
    drill.test = true;
    std::set<std::vector<std::pair<std::int32_t, Side>>> orders;
    auto held = order_of(plan_set(drill, 0, 0, 20, 1, 0));
    std::sort(held.begin(), held.end());
    for (std::uint64_t seed = 0; seed < 200; ++seed) {
        const auto plan = plan_set(drill, seed, 0, 20, 0.8, 0);
        auto order = order_of(plan);
        orders.insert(order);
        std::sort(order.begin(), order.end());
        CHECK(order == held);
        for (const auto& planned : plan)
            if (!planned.catch_trial)
                CHECK(planned.phases.front().length ==
                      (planned.attack == 1 ? drill.opponent.feint.mean : drill.opponent.lift.mean));
    }
    CHECK(orders.size() == 8);
}

TEST_CASE("a pattern repeats the coach's steps and waits") {
    Drill drill = mixed_drill();
    drill.start = StartKind::pattern;
    drill.pattern = {{0, 1500ms}, {1, 2s}, {0, 1200ms}};
    const auto plan = plan_set(drill, 9, 0, 7, 1, 0);
    REQUIRE(plan.size() == 7);
    for (std::size_t i = 0; i < plan.size(); ++i) {
        CHECK(plan[i].attack == drill.pattern[i % 3].attack);
        CHECK(plan[i].wait == drill.pattern[i % 3].wait);
    }
}

namespace {

Drill ordered_drill() {
    Drill drill;
    AttackChoice single, feint, reset;
    single.share = 10;
    feint.kind = AttackKind::feint;
    feint.share = 5;
    reset.kind = AttackKind::reset;
    reset.share = 5;
    drill.attacks = {single, feint, reset};
    // After a single now this, now that; after a feint mostly a reset; after a reset a single.
    drill.order = {0.6, 0.3, 0.1, 0.1, 0.1, 0.8, 0.9, 0.05, 0.05};
    return drill;
}

}  // namespace

TEST_CASE("an opponent with an order of its own kicks in it, and as often as it comes to in the long run") {
    const Drill drill = ordered_drill();
    REQUIRE(in_range(drill));
    std::array<std::array<double, 3>, 3> after{};
    std::array<double, 3> first{}, all{};
    constexpr int sets = 3000, reps = 12;
    for (int set = 0; set < sets; ++set) {
        const auto order = order_of(plan_set(drill, 17, set, reps, 1, 0));
        REQUIRE(order.size() == reps);
        ++first[static_cast<std::size_t>(order.front().first)];
        for (std::size_t i = 0; i < order.size(); ++i) {
            ++all[static_cast<std::size_t>(order[i].first)];
            if (i > 0) ++after[static_cast<std::size_t>(order[i - 1].first)][static_cast<std::size_t>(order[i].first)];
        }
    }
    for (std::size_t from = 0; from < 3; ++from) {
        const double n = after[from][0] + after[from][1] + after[from][2];
        for (std::size_t to = 0; to < 3; ++to) {
            const double p = drill.order[from * 3 + to];
            CHECK(std::abs(after[from][to] / n - p) < 4 * std::sqrt(p * (1 - p) / n));
        }
    }
    // The chain's long run, pi = pi P, by a program of its own.
    const double long_run[] = {0.567944, 0.202091, 0.229965};
    for (std::size_t i = 0; i < 3; ++i) {
        const double p = long_run[i], error = std::sqrt(p * (1 - p) / sets);
        CHECK(std::abs(first[i] / sets - p) < 4 * error);
        CHECK(std::abs(all[i] / (sets * reps) - p) < 4 * error);
    }
}

TEST_CASE("an order that is none is refused, and a drill without one is planned as ever") {
    Drill drill = ordered_drill();
    drill.order.pop_back();
    CHECK_FALSE(in_range(drill));
    drill = ordered_drill();
    drill.order[0] = 0.7;
    CHECK_FALSE(in_range(drill));
    drill.order[0] = -0.1;
    CHECK_FALSE(in_range(drill));
    // Blocks of the shares: of every forty attacks as many of each as they say.
    drill.order.clear();
    const auto order = order_of(plan_set(drill, 4, 0, 40, 1, 0));
    CHECK(std::count_if(order.begin(), order.end(), [](const auto& one) { return one.first == 1; }) == 10);
}
