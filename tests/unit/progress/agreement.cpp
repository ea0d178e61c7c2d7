#include "core/progress/agreement.hpp"

#include <vector>

#include <doctest/doctest.h>

#include "unit/progress/near.hpp"

#include "core/progress/false_discovery.hpp"
#include "core/reading/timeable_index.hpp"

using namespace breakstep::progress;
using breakstep::test::near;
using doctest::Approx;

TEST_CASE("Wilson's interval in Newcombe's cases") {
    // Newcombe 1998 (cases), computed in R 4.2.
    struct Case {
        std::uint64_t hits, of;
        double low, high;
    };
    for (const Case& known : {Case{81, 263, .2552885, .3662096}, Case{15, 148, .0623864, .1604872},
                              Case{0, 20, 0, .1611251}, Case{1, 29, .0061132, .1717552}, Case{10, 10, .7224672, 1}}) {
        const auto interval = breakstep::reading::wilson(known.hits, known.of);
        CHECK(interval.low == near(known.low, 1e-5));
        CHECK(interval.high == near(known.high, 1e-6));
    }
}

TEST_CASE("reliable change of the couple's example") {
    // Jacobson & Truax 1991; inputs from memory.
    const auto change = *reliable_change(7.5, .80, 32.5, 47.5);
    CHECK(change.index == near(3.162278, 1e-6));
    CHECK(change.needed == near(9.297096, 1e-6));
    CHECK_FALSE(reliable_change(0, .8, 1, 2));
    CHECK_FALSE(reliable_change(7, 1, 1, 2));
}

TEST_CASE("repeatability of two trials") {
    // Weir 2005, data recalled from memory.
    const std::vector<std::vector<double>> trials{{146, 148, 170, 90, 157, 156, 176, 205},
                                                  {140, 152, 152, 99, 145, 153, 167, 218}};
    const auto found = *repeatability(trials);
    CHECK(found.icc_agreement == near(.949975, 1e-6));
    CHECK(found.icc_consistency == near(.947016, 1e-6));
    CHECK(found.error == near(7.556927, 1e-6));
    CHECK(found.minimal_difference == near(20.946732, 1e-6));
}

TEST_CASE("no repeatability from one trial, from trials that don't match, or from equal values") {
    CHECK_FALSE(repeatability(std::vector<std::vector<double>>{{1, 2, 3}}));
    CHECK_FALSE(repeatability(std::vector<std::vector<double>>{{1, 2, 3}, {1, 2}}));
    CHECK_FALSE(repeatability(std::vector<std::vector<double>>{{2, 2, 2}, {2, 2, 2}}));
}

TEST_CASE("p-values adjusted as R's p.adjust does it") {
    // R 4.2: p.adjust(p, "BH").
    const std::vector<double> p{.01, .04, .03, .005, .5, .04};
    const std::vector<double> expected{.03, .048, .048, .03, .5, .048};
    const auto adjusted = false_discovery_adjusted(p);
    for (std::size_t i = 0; i < p.size(); ++i) CHECK(adjusted[i] == near(expected[i], 1e-12));
    CHECK(false_discovery_adjusted({}).empty());
}

TEST_CASE("agreement beyond luck: a published table, its interval, and too few calls") {
    // The example of Fleiss, Cohen & Everitt's textbook (Fleiss 1981, chapter 13): agreement .70, by luck .41.
    const auto known = kappa(Calls{{{88, 14, 18}, {10, 40, 10}, {2, 6, 12}}});
    REQUIRE(known.has_value());
    CHECK(known->agreed == 140);
    CHECK(known->of == 200);
    CHECK(known->by_chance == doctest::Approx(82.0));
    CHECK(known->kappa == doctest::Approx(0.4915).epsilon(0.001));
    CHECK(known->low == doctest::Approx(0.3916).epsilon(0.001));
    CHECK(known->high == doctest::Approx(0.5915).epsilon(0.001));
    const auto guesses = kappa(Calls{{{10, 10, 10}, {10, 10, 10}, {10, 10, 10}}});
    REQUIRE(guesses.has_value());
    CHECK(guesses->kappa == doctest::Approx(0.0));
    CHECK(guesses->low < 0);
    CHECK(guesses->high > 0);
    CHECK_FALSE(kappa(Calls{{{5, 0, 0}, {0, 9, 0}, {0, 0, 5}}}).has_value());
    CHECK_FALSE(kappa(Calls{{{0, 0, 0}, {0, 40, 0}, {0, 0, 0}}}).has_value());
}
