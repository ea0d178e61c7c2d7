#include "core/progress/rank_tests.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <vector>

#include <doctest/doctest.h>

#include "core/random.hpp"
#include "unit/progress/near.hpp"

using namespace breakstep::progress;
using breakstep::test::near;
using doctest::Approx;

namespace {

std::vector<double> counted(std::size_t size) {
    std::vector<double> x(size);
    std::iota(x.begin(), x.end(), 1.0);
    return x;
}

}  // namespace

TEST_CASE("Mann-Kendall and Theil-Sen of the check series") {
    // Series seen in a public text on trend tests; figures computed in R 4.2 and scipy 1.10 (theilslopes).
    const std::vector<double> y{12.9, 14.8, 13.2, 15.7, 13.8, 15.6, 12.9, 11.0, 17.3, 15.9, 19.0, 18.3, 20.1, 21.7};
    const auto trend = *mann_kendall(counted(14), y);
    CHECK(trend.score == 54);
    CHECK(trend.variance == near(332.666667, 1e-8));
    CHECK(trend.z == near(2.905837, 1e-6));
    CHECK(trend.p == near(.00366272, 1e-5));
    const auto slope = *theil_sen(counted(14), y);
    CHECK(slope.slope == near(.5666667, 1e-6));
    CHECK(slope.interval.low == Approx(.325));
    CHECK(slope.interval.high == near(.8666667, 1e-6));
}

TEST_CASE("a falling series mirrors a rising one, and no trend is told from nothing") {
    const std::vector<double> up{1, 2, 4, 7, 11, 12};
    std::vector<double> down;
    for (const double value : up) down.push_back(-value);
    CHECK(mann_kendall(counted(6), up)->p == mann_kendall(counted(6), down)->p);
    CHECK(mann_kendall(counted(6), up)->z == -mann_kendall(counted(6), down)->z);
    CHECK(theil_sen(counted(6), up)->interval.low == -theil_sen(counted(6), down)->interval.high);
    CHECK_FALSE(mann_kendall(counted(2), std::vector<double>{1, 2}));
    CHECK_FALSE(mann_kendall(counted(4), std::vector<double>(4, 2.0)));
    CHECK_FALSE(theil_sen(std::vector<double>(4, 2.0), counted(4)));
    CHECK(theil_sen(counted(4), std::vector<double>(4, 2.0))->slope == 0);
}

TEST_CASE("Theil-Sen over years of days is that of all slopes in their order, to the bit") {
    breakstep::Random random(20261126, 1);
    for (const std::size_t size : {700U, 900U}) {
        for (const std::uint32_t values : {3U, 1'000'000U}) {  // mostly ties, and hardly any
            std::vector<double> x, y;
            for (std::size_t i = 0; i < size; ++i) {
                x.push_back(static_cast<double>(i / 2 * 3));
                y.push_back(static_cast<double>(random.below(values)) / 7 + 0.01 * static_cast<double>(i));
            }
            std::vector<double> slopes;
            for (std::size_t i = 0; i < size; ++i)
                for (std::size_t j = i + 1; j < size; ++j)
                    if (x[i] != x[j]) slopes.push_back((y[j] - y[i]) / (x[j] - x[i]));
            std::sort(slopes.begin(), slopes.end());
            REQUIRE(slopes.size() > 200'000);
            const auto trend = *theil_sen(x, y);
            const std::size_t half = slopes.size() / 2;
            CHECK(trend.slope == (slopes.size() % 2 == 1 ? slopes[half] : (slopes[half - 1] + slopes[half]) / 2));
            const auto low = std::lower_bound(slopes.begin(), slopes.end(), trend.interval.low) - slopes.begin();
            const auto high = std::upper_bound(slopes.begin(), slopes.end(), trend.interval.high) - slopes.begin();
            // Sen's interval: 1.96 standard deviations of Kendall's score about the middle, one variance for both ends.
            const double reach = 1.959963984540054 * std::sqrt(mann_kendall(x, y)->variance);
            const auto pairs = static_cast<double>(slopes.size());
            CHECK(slopes[static_cast<std::size_t>(std::nearbyint((pairs - reach) / 2) - 1)] == trend.interval.low);
            CHECK(slopes[static_cast<std::size_t>(std::nearbyint((pairs + reach) / 2))] == trend.interval.high);
            CHECK(low < high);
        }
    }
}

TEST_CASE("ties in both lists: Kendall's variance as R has it") {
    // R 4.2: cor.test(x, y, method = "kendall", exact = FALSE, continuity = TRUE) gives z and p.
    const std::vector<double> x{1, 1, 2, 3, 3, 3, 4, 5}, y{2, 1, 2, 2, 5, 4, 4, 6};
    const auto trend = *mann_kendall(x, y);
    CHECK(trend.z == near(2.2599803197, 1e-6));
    CHECK(trend.p == near(.0238224723, 1e-6));
}

TEST_CASE("Hodges-Lehmann of the depression scores") {
    // The example of R's help page ?wilcox.test (Hollander & Wolfe 1973), paired.
    const std::vector<double> x{1.83, .50, 1.62, 2.48, 1.68, 1.88, 1.55, 3.06, 1.30};
    const std::vector<double> y{.878, .647, .598, 2.05, 1.06, 1.29, 1.06, 3.14, 1.29};
    std::vector<double> differences;
    for (std::size_t i = 0; i < x.size(); ++i) differences.push_back(x[i] - y[i]);
    const auto shift = *shift_of(differences);
    CHECK(shift.rank_sum == 40);
    CHECK(shift.estimate == Approx(.46));
    CHECK(shift.interval.low == Approx(.01));
    CHECK(shift.interval.high == Approx(.786));
    CHECK(shift.coverage == Approx(1 - 2 * 10 / 512.0));  // P(V <= 5) = 10 / 2^9, by counting
}

TEST_CASE("a shift between two samples is R's, for few and for many values") {
    // R 4.2: wilcox.test(after, before, conf.int = TRUE): exact for the first pair; for the second, 60 against 55, the
    // rank of the normal law (qnorm) in the ordered differences.
    const std::vector<double> before{.80, .83, 1.89, 1.04, 1.45, 1.38, 1.91, 1.64, .73, 1.46};
    const std::vector<double> after{1.15, .88, .90, .74, 1.21};
    const auto few = *shift_between(before, after);
    CHECK(few.estimate == Approx(-.305));
    CHECK(few.interval.low == Approx(-.76));
    CHECK(few.interval.high == Approx(.15));
    std::vector<double> a, b;
    for (int i = 1; i <= 60; ++i) a.push_back(std::sqrt(i));
    for (int i = 1; i <= 55; ++i) b.push_back(2 + std::sqrt(i));
    const auto many = *shift_between(a, b);
    CHECK(many.estimate == near(1.757783261, 1e-6));
    CHECK(many.interval.low == near(1.127016654, 1e-6));
    CHECK(many.interval.high == near(2.408603754, 1e-6));
}

TEST_CASE("too few values for 95 % give the widest interval and say its coverage") {
    const auto shift = *shift_of(std::vector<double>{1, 2, 4});
    CHECK(shift.interval == Interval{1, 4});
    CHECK(shift.coverage == Approx(.75));  // 1 - 2 / 2^3
    CHECK_FALSE(shift_of({}));
    CHECK_FALSE(shift_between({}, std::vector<double>{1}));
}
