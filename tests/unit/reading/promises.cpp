// What the tests promise, held against simulation with fixed seeds: how often unpredictable athletes are told, how soon
// timeable ones are, and that no law of the null can beat the bets. `breakstep timeable --table` prints all of it.
#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <numbers>
#include <vector>

#include "core/reading/adversary.hpp"
#include "core/reading/choice_test.hpp"
#include "core/reading/families.hpp"
#include "core/reading/law.hpp"
#include "core/reading/seconds.hpp"
#include "core/reading/tempo_test.hpp"

using namespace breakstep;
using namespace breakstep::reading;

namespace {

constexpr std::uint64_t seed = 424'242;

struct Told {
    std::array<double, 40> by{};  // share told by interval i
    double one_group = 0;         // of tells: cause in the one-beat group
    double long_short = 0;
    double three_beat = 0;
};

Told simulate(Family family, TempoMethod method, int drills, int intervals, bool cut = false) {
    std::array<int, 40> at{};
    std::array<int, tempo_cause_count> causes{};
    const Duration shortest = duration_from(family == Family::fixed_in_time ? shortest_in_seconds : 0.4);
    for (int drill = 0; drill < drills; ++drill) {
        InventedAthlete athlete(family, seed, static_cast<std::uint64_t>(drill));
        TempoTest test(method);
        for (int i = 1; i <= intervals; ++i) {
            test.predict(shortest);
            const Duration interval = duration_from(athlete.next());
            const Duration cue = cut ? duration_from(1.0 + athlete.random().exponential(1.5)) : 1000s;
            if (interval > cue)
                test.cut(cue);
            else
                test.entered(interval);
            if (test.wealth() < 20) continue;
            ++at[static_cast<std::size_t>(i)];
            ++causes[static_cast<std::size_t>(test.cause())];
            break;
        }
    }
    Told told;
    int sum = 0;
    for (std::size_t i = 1; i < at.size(); ++i) told.by[i] = (sum += at[i]) / static_cast<double>(drills);
    if (sum == 0) return told;
    told.one_group = (causes[0] + causes[1]) / static_cast<double>(sum);
    told.long_short = causes[2] / static_cast<double>(sum);
    told.three_beat = causes[3] / static_cast<double>(sum);
    return told;
}

struct Power {
    Family family;
    std::array<double, 4> by;  // 8, 12, 16, 24 entries
};
/// The method's published table, to two digits.
const std::array<Power, 10> published{{{Family::metronome_10, {.85, .99, 1, 1}},
                                       {Family::human_15, {.38, .73, .89, .98}},
                                       {Family::human_20, {.15, .34, .48, .68}},
                                       {Family::long_short, {.61, .98, 1, 1}},
                                       {Family::three_beat, {.15, .91, .99, 1}},
                                       {Family::one_beat_60, {.22, .43, .60, .83}},
                                       {Family::gamma_20, {.10, .23, .33, .52}},
                                       {Family::gamma_50, {.47, .83, .95, 1}},
                                       {Family::fixed_in_time, {.65, .95, .99, 1}},
                                       {Family::free_then_beat, {0, 0, 0, .92}}}};
constexpr std::array<std::size_t, 4> looks{7, 11, 15, 23};

/// The greatest mean multiplier that any law with a density of at most h on ln D can reach, by filling the best-paid
/// places of a fine grid: what the null allows at worst. Beyond `cut` (if given) everything is paid `later`.
double worst_mean(const TempoTest& test, double shortest, double cut = 0, double later = 0) {
    constexpr int cells = 40'000;
    constexpr double step = 4.0 / cells;
    std::vector<std::pair<double, double>> places;  // payoff, greatest probability
    for (int i = 0; i < cells; ++i) {
        const double logarithm = std::log(shortest) + 1e-6 + step * (i + 0.5);
        const double interval = std::exp(logarithm);
        if (cut > 0 && interval > cut) break;
        places.emplace_back(test.multiplier_at(duration_from(interval)), step / inverse_bound(interval, shortest));
    }
    places.emplace_back(cut > 0 ? later : test.multiplier_at(500s), 1.0);
    std::sort(places.rbegin(), places.rend());
    double left = 1.0;
    double mean = 0;
    for (const auto& [payoff, most] : places) {
        const double probability = std::min(most, left);
        mean += probability * payoff;
        left -= probability;
    }
    return mean;
}

}  // namespace

TEST_CASE("unpredictable athletes are told in at most 2 % of 20,000 drills") {
    for (const FamilyDescription& description : families()) {
        if (description.truth != Truth::unpredictable) continue;
        CAPTURE(description.words);
        CHECK(simulate(description.family, TempoMethod::plain, 20'000, 39).by[39] <= 0.02);
    }
}

TEST_CASE("our method keeps the promise on unpredictable athletes, cut by attacks or not") {
    for (const FamilyDescription& description : families()) {
        if (description.truth != Truth::unpredictable) continue;
        CAPTURE(description.words);
        // 2 % and three standard errors of so many drills; the table has 20,000.
        CHECK(simulate(description.family, TempoMethod::tight, 1'500, 39).by[39] <= 0.02 + 3 * 0.0036);
        CHECK(simulate(description.family, TempoMethod::tight, 1'000, 39, true).by[39] <= 0.02 + 3 * 0.0044);
    }
}

TEST_CASE("an adversary that picks the best-paid law of the null is told in at most 5 % of drills") {
    for (const TempoMethod method : {TempoMethod::plain, TempoMethod::tight}) {
        constexpr int drills = 2'000;
        int told = 0;
        for (int drill = 0; drill < drills; ++drill) {
            Adversary adversary(seed, static_cast<std::uint64_t>(drill));
            TempoTest test(method);
            for (int i = 0; i < 39 && test.wealth() < 20; ++i) {
                test.predict(400ms);
                test.entered(duration_from(adversary.next(test)));
            }
            told += test.wealth() >= 20 ? 1 : 0;
        }
        CHECK(told <= drills * 0.05);
    }
}

TEST_CASE("no law of the null has a mean multiplier above 1, whatever was seen before") {
    for (const TempoMethod method : {TempoMethod::plain, TempoMethod::tight}) {
        double greatest = 0;
        for (const Family family : {Family::metronome_10, Family::three_beat, Family::lognormal_50, Family::one_beat_60,
                                    Family::exponential_short, Family::free_then_beat}) {
            InventedAthlete athlete(family, seed, 77);
            TempoTest test(method);
            for (int i = 0; i < 25; ++i) {
                test.predict(400ms);
                const double mean = worst_mean(test, 0.4);
                // The grid of this test integrates the bells to within 2e-4.
                CHECK(mean <= 1.0 + 2e-4);
                greatest = std::max(greatest, mean);
                test.entered(duration_from(athlete.next()));
            }
        }
        CHECK(greatest > 0.98);  // and the bets are not idle
    }
}

TEST_CASE("a cue fixed beforehand leaves no law of the null a mean above 1") {
    for (const TempoMethod method : {TempoMethod::plain, TempoMethod::tight}) {
        for (const double cue : {0.45, 0.6, 0.75, 0.9, 1.05, 1.5, 3.0}) {
            InventedAthlete athlete(Family::long_short, seed, 78);
            TempoTest test(method);
            for (int i = 0; i < 20; ++i) {
                test.predict(400ms);
                TempoTest cut = test;
                cut.cut(duration_from(cue));
                const double later = std::exp(cut.log_wealth() - test.log_wealth());
                CHECK(worst_mean(test, 0.4, cue, later) <= 1.0 + 2e-4);
                test.entered(duration_from(athlete.next()));
            }
        }
    }
}

TEST_CASE("the power is that of the published table, and the tight bet is at least as great everywhere") {
    constexpr int drills = 2'000;
    for (const Power& power : published) {
        const Told plain = simulate(power.family, TempoMethod::plain, drills, 23);
        const Told tight = simulate(power.family, TempoMethod::tight, drills, 23);
        for (std::size_t k = 0; k < looks.size(); ++k) {
            if (power.family == Family::free_then_beat && k < 3) continue;
            CAPTURE(static_cast<int>(power.family));
            CAPTURE(k);
            // Rounding of the table, and three standard errors of both simulations (8,000 drills there).
            const double spread = power.by[k] * (1 - power.by[k]);
            const double error = 0.005 + 3 * std::sqrt(spread / drills + spread / 8'000);
            CHECK(plain.by[looks[k]] >= power.by[k] - error);
            CHECK(tight.by[looks[k]] >= power.by[k] - error);
            CHECK(tight.by[looks[k]] >= plain.by[looks[k]] - 0.005);
        }
    }
}

TEST_CASE("cut by random waits, a metronome is always told by 24 entries and long-short in four of five drills") {
    for (const TempoMethod method : {TempoMethod::plain, TempoMethod::tight}) {
        CHECK(simulate(Family::metronome_10, method, 1'000, 23, true).by[23] >= 0.995);
        CHECK(simulate(Family::long_short, method, 1'000, 23, true).by[23] >= 0.80);
    }
}

TEST_CASE("the named cause is right in at least nine of ten tells") {
    for (const TempoMethod method : {TempoMethod::plain, TempoMethod::tight}) {
        CHECK(simulate(Family::metronome_10, method, 2'000, 23).one_group >= 0.90);
        CHECK(simulate(Family::one_beat_60, method, 2'000, 23).one_group >= 0.90);
        CHECK(simulate(Family::long_short, method, 2'000, 23).long_short >= 0.90);
        CHECK(simulate(Family::three_beat, method, 2'000, 23).three_beat >= 0.90);
    }
}

TEST_CASE("fair choices are told in at most 5 % of drills, and so are habits at the edge of what is allowed") {
    constexpr int drills = 4'000;
    for (const std::size_t symbols : {2U, 3U, 4U}) {
        int free_told = 0;
        int habit_told = 0;
        Random random(seed, symbols);
        for (int drill = 0; drill < drills; ++drill) {
            ChoiceTest fair(symbols);
            ChoiceTest edge(symbols);
            double fair_most = 0;
            double edge_most = 0;
            for (int i = 0; i < 60; ++i) {
                fair.look(static_cast<std::uint8_t>(random.below(static_cast<std::uint32_t>(symbols))));
                fair_most = std::max(fair_most, fair.log_wealth_free());
                // The likeliest guess comes true as often as the null allows, each time.
                const std::uint8_t guessed = edge.guess().symbol;
                const bool hit = random.chance(habit_bound(symbols));
                const auto other = static_cast<std::uint8_t>(
                    (guessed + 1 + random.below(static_cast<std::uint32_t>(symbols - 1))) % symbols);
                edge.look(hit ? guessed : other);
                edge_most = std::max(edge_most, edge.log_wealth_habit());
            }
            free_told += fair_most >= std::log(20.0) ? 1 : 0;
            habit_told += edge_most >= std::log(20.0) ? 1 : 0;
        }
        CAPTURE(symbols);
        CHECK(free_told <= drills * 0.05);
        CHECK(habit_told <= drills * 0.05);
    }
}
