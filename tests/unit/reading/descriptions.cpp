// Published worked examples of the descriptive statistics; the source stands beside each.
#include "core/reading/descriptions.hpp"

#include <doctest/doctest.h>

#include <array>
#include <cmath>
#include <numeric>
#include <string_view>
#include <vector>

#include "core/reading/timeable_index.hpp"

using namespace breakstep::reading;

namespace {

std::vector<std::uint8_t> bits_of(std::string_view text) {
    std::vector<std::uint8_t> bits;
    for (const char c : text) bits.push_back(c == '1' ? 1 : 0);
    return bits;
}

double estimate_of(std::vector<std::uint64_t> counts, double alpha) { return krichevsky_trofimov(counts, alpha); }

}  // namespace

TEST_CASE("the Krichevsky-Trofimov estimator gives its exact fractions") {
    // Krichevsky & Trofimov 1981; exact by arithmetic.
    CHECK(estimate_of({2, 0}, 0.5) == doctest::Approx(3.0 / 8).epsilon(1e-14));
    CHECK(estimate_of({1, 1}, 0.5) == doctest::Approx(1.0 / 8).epsilon(1e-14));
    CHECK(estimate_of({2, 1}, 0.5) == doctest::Approx(1.0 / 16).epsilon(1e-14));
    CHECK(estimate_of({2, 2}, 0.5) == doctest::Approx(3.0 / 128).epsilon(1e-14));
    CHECK(estimate_of({3, 2}, 0.5) == doctest::Approx(3.0 / 256).epsilon(1e-14));
    CHECK(estimate_of({4, 3}, 0.5) == doctest::Approx(5.0 / 2048).epsilon(1e-14));
    CHECK(estimate_of({1, 1, 1}, 0.5) == doctest::Approx(1.0 / 105).epsilon(1e-14));
    CHECK(estimate_of({1, 1, 1}, 1.0 / 3) == doctest::Approx(1.0 / 162).epsilon(1e-14));
}

TEST_CASE("permutation entropy gives the published values") {
    // Bandt & Pompe 2002, the series of their introduction.
    const std::vector<double> series{4, 7, 9, 10, 6, 11, 3};
    CHECK(permutation_entropy(series, 2).value() == doctest::Approx(.9182958340544896).epsilon(1e-14));
    CHECK(permutation_entropy(series, 3).value() == doctest::Approx(1.5219280948873621).epsilon(1e-14));
    CHECK_FALSE(permutation_entropy(series, 8).has_value());
    CHECK_FALSE(permutation_entropy(std::vector<double>{1, 2}, 3).has_value());
}

TEST_CASE("local variation is nought for a metronome and larger the more neighbours differ") {
    // Shinomoto 2003; exact by arithmetic.
    CHECK(local_variation(std::vector<double>{2, 2, 2, 2}).value() == 0);
    CHECK(local_variation(std::vector<double>{1, 2, 1, 2}).value() == doctest::Approx(1.0 / 3).epsilon(1e-14));
    CHECK(local_variation(std::vector<double>{1, 3}).value() == doctest::Approx(3.0 / 4).epsilon(1e-14));
    CHECK_FALSE(local_variation(std::vector<double>{1}).has_value());
}

TEST_CASE("the tests of SP 800-22 give its worked examples") {
    // NIST SP 800-22 rev. 1a, sections 2.1, 2.3, 2.11, 2.12. Its text misprints the chi-squared of approximate entropy
    // as 0.502193; the p-value is right.
    CHECK(std::abs(frequency_p(bits_of("1011010101")).value() - .527089) < 5.1e-7);
    CHECK(std::abs(runs_p(bits_of("1001101011")).value() - .147232) < 5.1e-7);
    const SerialP serial = serial_p(bits_of("0011011101"), 3).value();
    CHECK(std::abs(serial.first - .808792) < 5.1e-7);
    CHECK(std::abs(serial.second - .670320) < 5.1e-7);
    CHECK(std::abs(approximate_entropy_p(bits_of("0100110101"), 3).value() - .261961) < 5.1e-7);
}

TEST_CASE("the tests of SP 800-22 have no answer where there is nothing to test") {
    CHECK_FALSE(frequency_p(bits_of("")).has_value());
    CHECK_FALSE(runs_p(bits_of("1111111111")).has_value());
    CHECK_FALSE(serial_p(bits_of("01"), 3).has_value());
    CHECK_FALSE(approximate_entropy_p(bits_of("01"), 3).has_value());
}

TEST_CASE("a block of two uses half a degree of freedom in the second serial statistic") {
    // Q(1/2, x) = erfc(sqrt x), exact: psi-squared of 0011011101 by hand for m = 2, 1, 0: 0.4 + ..., see SP
    // 800-22 2.11.4.
    const SerialP serial = serial_p(bits_of("0011011101"), 2).value();
    // psi^2_2 = 4/10 (1 + 9 + 9 + 9) - 10 = 1.2; psi^2_1 = 2/10 (16 + 36) - 10 = 0.4.
    CHECK(serial.first == doctest::Approx(std::exp(-0.4)).epsilon(1e-12));
    CHECK(serial.second == doctest::Approx(std::erfc(std::sqrt(0.2))).epsilon(1e-12));
}

TEST_CASE("the runs test of Wald and Wolfowitz gives the published example") {
    const RunsTest test = wald_wolfowitz(bits_of("1111000111001111110000")).value();
    CHECK(test.runs == 6);
    CHECK(std::abs(test.z - -2.5512644) < 5.1e-8);
    CHECK(std::abs(test.p - .0107332857) < 5.1e-11);
    CHECK_FALSE(wald_wolfowitz(bits_of("1111")).has_value());
}

TEST_CASE("mean direction and length of the Rayleigh test are those of the textbook") {
    // Zar, Biostatistical Analysis, example of circular data (from memory).
    const std::vector<double> degrees{45, 55, 81, 96, 110, 117, 132, 154};
    const Rayleigh result = rayleigh(degrees).value();
    CHECK(std::abs(result.length - .825218) < 5.1e-7);
    CHECK(std::abs(result.mean_degrees - 98.98775) < 5.1e-6);
    CHECK(result.p < 0.005);
    CHECK(rayleigh(std::vector<double>{0, 120, 240}).value().length == doctest::Approx(0).epsilon(1e-12));
}

TEST_CASE("clock and motor deviations follow from the autocovariances") {
    // Wing & Kristofferson 1973; by arithmetic.
    const ClockAndMotor split = wing_kristofferson(400, -60).value();
    CHECK(std::abs(split.motor_deviation - 7.745967) < 5.1e-7);
    CHECK(std::abs(split.clock_deviation - 16.733201) < 5.1e-7);
    CHECK(split.lag_one == doctest::Approx(-.15).epsilon(1e-14));
    CHECK_FALSE(wing_kristofferson(400, 60).has_value());
    CHECK_FALSE(wing_kristofferson(400, -201).has_value());
}

TEST_CASE("clock and motor deviations are found in intervals") {
    // 10 and 12 in turns: variance 1, covariance -(n-1)/n: outside the model, since the clock would need to be
    // negative.
    CHECK_FALSE(wing_kristofferson(std::vector<double>{10, 12, 10, 12, 10, 12}).has_value());
    const ClockAndMotor split = wing_kristofferson(std::vector<double>{10, 12, 11, 9, 11, 13, 10, 11}).value();
    CHECK(split.lag_one < 0);
    CHECK(split.lag_one > -0.5);
}

TEST_CASE("Wilson's interval gives Newcombe's cases") {
    // Newcombe 1998, table I, recomputed; some values are cut, not rounded, after seven decimals.
    struct Case {
        std::uint64_t successes, trials;
        double low, high;
    };
    for (const Case& c : {Case{81, 263, .2552885, .3662096}, Case{15, 148, .0623864, .1604872},
                          Case{0, 20, 0, .1611251}, Case{1, 29, .0061132, .1717552}, Case{10, 10, .7224672, 1}}) {
        const Interval95 interval = wilson(c.successes, c.trials);
        CHECK(std::abs(interval.low - c.low) < 1e-7);
        CHECK(std::abs(interval.high - c.high) < 1e-7);
    }
}
