#include <cmath>
#include <vector>

#include <doctest/doctest.h>

#include "unit/progress/near.hpp"

#include "core/progress/difficulty.hpp"
#include "core/progress/learning_curve.hpp"
#include "core/random.hpp"

using namespace breakstep::progress;
using breakstep::test::near;
using doctest::Approx;

TEST_CASE("an exponential learning curve at four points") {
    // Form of Heathcote et al. 2000; figures computed in R 4.2.
    const LearningCurve curve{300, 200, .05};
    CHECK(curve.at(0) == Approx(500));
    CHECK(curve.at(10) == near(421.306, 1e-6));
    CHECK(curve.at(20) == near(373.576, 1e-6));
    CHECK(curve.at(40) == near(327.067, 1e-6));
}

TEST_CASE("a curve is found again from its own points, and a straight line has no known rate") {
    const LearningCurve curve{300, 200, .05};
    std::vector<double> practice, bent, straight;
    for (int n = 0; n <= 60; n += 5) {
        practice.push_back(n);
        bent.push_back(curve.at(n));
        straight.push_back(500 - n);
    }
    const auto found = *fit_learning_curve(practice, bent);
    CHECK(found.curve.final == near(300, 1e-6));
    CHECK(found.curve.gain == near(200, 1e-6));
    CHECK(found.curve.rate == near(.05, 1e-6));
    CHECK_FALSE(found.rate_unknown);
    CHECK(fit_learning_curve(practice, straight)->rate_unknown);
    CHECK_FALSE(fit_learning_curve(std::vector<double>{1, 2}, std::vector<double>{1, 2}));
}

TEST_CASE("where staircases settle") {
    // Levitt 1971 (2-down 70.7 %, 3-down 79.4 %) and Kaernbach 1991 (up : down = p : (1 - p)), seen in public texts.
    CHECK(staircase_share(2) == near(.707, 1e-3));
    CHECK(staircase_share(3) == near(.794, 1e-3));
    CHECK(staircase_step_ratio(.75) == Approx(3));
}

TEST_CASE("the windows that an error of 60 ms hits at the shares of staircases") {
    // Computed in R 4.2; halves of 126.22, 138.04, 151.66 and 172.74 ms.
    CHECK(half_window(60, std::sqrt(.5)) == near(63.11, 1e-4));
    CHECK(half_window(60, .75) == near(69.02, 1e-4));
    CHECK(half_window(60, std::cbrt(.5)) == near(75.83, 1e-4));
    CHECK(half_window(60, .85) == near(86.37, 1e-4));
}

TEST_CASE("a two-down staircase on a window settles where it says") {
    breakstep::Random random(20);
    double log_window = std::log(63.11);
    int in_a_row = 0, hits = 0;
    const int reps = 200'000;
    for (int rep = 0; rep < reps; ++rep) {
        const bool hit = std::abs(60 * random.normal()) < std::exp(log_window);
        hits += hit ? 1 : 0;
        in_a_row = hit ? in_a_row + 1 : 0;
        if (!hit) log_window += .01;
        if (in_a_row == 2) {
            log_window -= .01;
            in_a_row = 0;
        }
    }
    INFO("seed 20, share " << hits / static_cast<double>(reps));
    CHECK(hits / static_cast<double>(reps) == near(staircase_share(2), .01));
}
