// The golden values of the choice test, computed once from the method's definition (a second program in another
// language gave the same), and exact values of its parts from the literature.
#include <doctest/doctest.h>

#include <cmath>
#include <vector>

#include "core/reading/choice_test.hpp"
#include "core/reading/context_tree.hpp"

using namespace breakstep::reading;

namespace {

ChoiceTest after(std::size_t symbols, const std::vector<int>& unit, int times) {
    ChoiceTest test(symbols);
    for (int i = 0; i < times; ++i)
        for (const int symbol : unit) test.look(static_cast<std::uint8_t>(symbol));
    return test;
}

bool near_to(double seen, double golden) { return std::abs(seen - golden) < 1e-6; }

double probability_of(ContextTree& tree, const std::vector<int>& symbols) {
    double product = 1;
    for (const int symbol : symbols) {
        product *= tree.predict()[static_cast<std::size_t>(symbol)];
        tree.look(static_cast<std::uint8_t>(symbol));
    }
    return product;
}

}  // namespace

TEST_CASE("two the same and one other, five times, give the golden wealths") {
    const ChoiceTest test = after(2, {0, 0, 1}, 5);
    CHECK(test.hits() == 12);
    CHECK(test.seen() == 15);
    CHECK(near_to(test.log_wealth_free(), 3.413183));
    CHECK(near_to(test.log_wealth_habit(), 1.848738));
    CHECK(near_to(test.log_pattern(), 2.563688));
}

TEST_CASE("taking turns between two gives the golden wealths") {
    const ChoiceTest test = after(2, {0, 1}, 6);
    CHECK(test.hits() == 11);
    CHECK(near_to(test.log_wealth_free(), 4.796700));
    CHECK(near_to(test.log_wealth_habit(), 3.196628));
    CHECK(near_to(test.log_pattern(), 4.796700));
}

TEST_CASE("the same among three symbols gives the golden wealths") {
    const ChoiceTest test = after(3, {0, 0, 1}, 5);
    CHECK(test.hits() == 12);
    CHECK(near_to(test.log_wealth_free(), 8.199746));
    CHECK(near_to(test.log_wealth_habit(), 4.750280));
    CHECK(near_to(test.log_pattern(), 1.268273));
}

TEST_CASE("the cap on the stake holds over eighty choices") {
    CHECK(near_to(after(2, {0, 1}, 40).log_wealth_habit(), 36.383604));
}

TEST_CASE("the context tree gives the published probabilities") {
    // Willems, Shtarkov & Tjalkens 1995: depth 3, past 010, 0110100; and past 110, 0100110 (exact fractions).
    ContextTree first(2, {0, 1, 0});
    double product = probability_of(first, {0, 1, 1, 0, 1, 0, 0});
    CHECK(product == doctest::Approx(95.0 / 32768).epsilon(1e-14));
    CHECK(product * first.predict()[0] == doctest::Approx(5.0 / 4096).epsilon(1e-14));

    ContextTree second(2, {1, 1, 0});
    product = probability_of(second, {0, 1, 0, 0, 1, 1, 0});
    CHECK(product == doctest::Approx(7.0 / 2048).epsilon(1e-14));
    CHECK(product * second.predict()[0] == doctest::Approx(153.0 / 65536).epsilon(1e-14));
}

TEST_CASE("the tree's probabilities sum to one for any number of symbols") {
    for (const std::size_t symbols : {2U, 3U, 5U, 16U}) {
        ContextTree tree(symbols);
        for (std::size_t i = 0; i < 500; ++i) {
            double sum = 0;
            for (const double p : tree.predict()) sum += p;
            REQUIRE(sum == doctest::Approx(1.0).epsilon(1e-12));
            tree.look(static_cast<std::uint8_t>((i * i + i / 3) % symbols));
        }
    }
}
