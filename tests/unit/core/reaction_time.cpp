#include "core/score/reaction_time.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include <doctest/doctest.h>

#include "core/random.hpp"

using namespace breakstep;
using doctest::Approx;

TEST_CASE("vigilance figures of the check vector") {
    // Computed in R 4.2 by the definitions of Dinges & Powell 1985 and Basner & Dinges 2011 (definitions from memory).
    const std::vector<double> latencies{-50, 85, 210, 230, 245, 260, 300, 355, 480, 500, 620};
    const ReactionFigures figures = reaction_figures(latencies);
    CHECK(figures.false_starts == 2);
    CHECK(figures.lapses == 2);
    CHECK(figures.valid == 9);
    CHECK(*figures.mean_ms == Approx(355.5556).epsilon(1e-6));
    CHECK(*figures.median_ms == 300);
    CHECK(*figures.speed_per_s == Approx(3.209332).epsilon(1e-6));
}

TEST_CASE("a false start is under 100 ms and a lapse is 500 ms or more") {
    const std::vector<double> latencies{99.999, 100, 499.999, 500};
    CHECK(reaction_figures(latencies).false_starts == 1);
    CHECK(reaction_figures(latencies).lapses == 1);
}

TEST_CASE("false starts alone give no mean") {
    const std::vector<double> latencies{10, -3};
    CHECK(reaction_figures(latencies).false_starts == 2);
    CHECK_FALSE(reaction_figures(latencies).mean_ms);
    CHECK_FALSE(reaction_figures({}).median_ms);
}

TEST_CASE("an even number of reaction times has the mean of the middle two as median") {
    const std::vector<double> latencies{400, 200, 300, 250};
    CHECK(*reaction_figures(latencies).median_ms == 275);
}

TEST_CASE("the ex-Gaussian 200 20 50 has the moments of the check list") {
    // Computed in R 4.2 and scipy 1.10.
    const ExGaussian law{200, 20, 50};
    CHECK(law.mean() == 250);
    CHECK(law.standard_deviation() == Approx(53.851648).epsilon(1e-8));
    CHECK(law.skewness() == Approx(1.600822).epsilon(1e-6));
    CHECK(law.median() == Approx(238.157520).epsilon(1e-8));
}

TEST_CASE("the ex-Gaussian's moments are those of a normal plus an exponential") {
    Random random(5);
    const ExGaussian law{200, 20, 50};
    const int draws = 200'000;
    int below_median = 0;
    double sum = 0;
    for (int i = 0; i < draws; ++i) {
        const double drawn = law.mu + law.sigma * random.normal() + random.exponential(law.tau);
        sum += drawn;
        if (drawn < law.median()) ++below_median;
    }
    // Five standard errors: 53.85 / sqrt(n), and .5 / sqrt(n).
    CHECK(std::abs(sum / draws - law.mean()) < 5 * 53.85 / 447.2);
    CHECK(std::abs(static_cast<double>(below_median) / draws - 0.5) < 5 * 0.5 / 447.2);
}

TEST_CASE("waits of 1 s plus 1.5 s on average have the quartiles and the overflow of the check list") {
    // Computed in R 4.2.
    CHECK(wait_quantile(1, 1.5, 0.25) == Approx(1.431523).epsilon(1e-6));
    CHECK(wait_quantile(1, 1.5, 0.50) == Approx(2.039721).epsilon(1e-6));
    CHECK(wait_quantile(1, 1.5, 0.75) == Approx(3.079442).epsilon(1e-6));
    CHECK(1 - wait_cumulative(1, 1.5, 6) == Approx(0.035674).epsilon(1e-5));
    CHECK(wait_cumulative(1, 1.5, 0.9) == 0);
}

TEST_CASE("the generator's exponential draws have those quartiles") {
    Random random(31);
    std::vector<double> waits(200'000);
    int overflows = 0;
    for (double& wait : waits) {
        wait = 1 + random.exponential(1.5);
        if (wait > 6) ++overflows;
    }
    std::sort(waits.begin(), waits.end());
    // Five standard errors of a quantile: 5 sqrt(q (1 - q) / n) over the density there.
    const struct { double share, expected; } quartiles[] = {{0.25, 1.431523}, {0.50, 2.039721}, {0.75, 3.079442}};
    for (const auto& quartile : quartiles) {
        const double density = (1 - quartile.share) / 1.5;
        const double error = 5 * std::sqrt(quartile.share * (1 - quartile.share) / 200'000) / density;
        const double drawn = waits[static_cast<std::size_t>(quartile.share * 200'000)];
        CHECK(std::abs(drawn - quartile.expected) < error);
    }
    CHECK(std::abs(overflows / 200'000.0 - 0.035674) < 5 * std::sqrt(0.035674 / 200'000));
}

TEST_CASE("uniform waits age and exponential ones do not") {
    // Hazard of a uniform wait of 1 to 5 s at 1, 3, 4 and 4.9 s, per second (computed by definition).
    CHECK(uniform_wait_hazard(1, 5, 1) == Approx(0.25));
    CHECK(uniform_wait_hazard(1, 5, 3) == Approx(0.5));
    CHECK(uniform_wait_hazard(1, 5, 4) == Approx(1));
    CHECK(uniform_wait_hazard(1, 5, 4.9) == Approx(10));
    CHECK(uniform_wait_hazard(1, 5, 0.5) == 0);

    // Of those waits that lasted to any time, the same share ends within the next second.
    for (const double lasted : {1.0, 2.0, 4.0, 8.0}) {
        const double left = 1 - wait_cumulative(1, 1.5, lasted);
        const double ends = wait_cumulative(1, 1.5, lasted + 1) - wait_cumulative(1, 1.5, lasted);
        CHECK(ends / left == Approx(wait_cumulative(1, 1.5, 2)).epsilon(1e-9));
    }
}
