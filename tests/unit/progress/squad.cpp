#include "core/progress/squad.hpp"

#include <cmath>
#include <fstream>
#include <map>
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include "core/random.hpp"
#include "places.hpp"
#include "unit/progress/near.hpp"

using namespace breakstep::progress;
using breakstep::test::near;
using doctest::Approx;

namespace {

constexpr double share = 1e-3;

struct Squad {
    std::vector<SquadPoint> points;
    std::map<std::string, std::size_t> athletes;
    [[nodiscard]] auto fit() const { return fit_squad(points, athletes.size()); }
};

/// athlete,date,measure,value; all dates are in one January.
Squad sleepstudy() {
    Squad squad;
    std::ifstream in(BREAKSTEP_SOURCE_DIR "/tests/data/sleepstudy.csv");
    std::string line;
    std::getline(in, line);
    while (std::getline(in, line)) {
        const auto first = line.find(','), second = line.find(',', first + 1), third = line.find(',', second + 1);
        const auto athlete = squad.athletes.try_emplace(line.substr(0, first), squad.athletes.size()).first->second;
        squad.points.push_back(
            {athlete, std::stod(line.substr(second - 2, 2)) - 8, std::stod(line.substr(third + 1)), 0});
    }
    return squad;
}

/// The same with a fifth of half the athletes' values left out, and sampling variances of 25, 425, 825, 1225 in turn.
Squad unequal_sleepstudy() {
    Squad squad = sleepstudy();
    std::vector<SquadPoint> kept;
    for (std::size_t i = 0; i < squad.points.size(); ++i) {
        squad.points[i].sampling_variance = 25 + 400 * static_cast<double>(i % 4);
        if ((i + 1) % 5 != 0 || squad.points[i].athlete >= 9) kept.push_back(squad.points[i]);
    }
    squad.points = kept;
    return squad;
}

}  // namespace

TEST_CASE("the sleep study's squad comes out as restricted maximum likelihood has it") {
    // Printed figures of R's lme4 (REML, Reaction ~ Days + (Days | Subject)), recomputed with lme4 1.1-31 in R 4.2.
    const auto fit = *sleepstudy().fit();
    CHECK(fit.athletes == 18);
    CHECK(fit.points == 180);
    CHECK(fit.intercept == near(251.405, share));
    CHECK(fit.intercept_error == near(6.825, share));
    CHECK(fit.slope == near(10.467, share));
    CHECK(fit.slope_error == near(1.546, share));
    CHECK(fit.sd_intercept == near(24.740, share));
    CHECK(fit.sd_slope == near(5.922, share));
    CHECK(*fit.correlation == near(.0655513, share));
    CHECK(fit.sd_residual == near(25.592, share));
    CHECK_FALSE(fit.singular);
    CHECK(fit.settled);
    CHECK(fit.criterion == near(1743.62827196, 1e-9));
    // t(.975, 17) = 2.109816, R 4.2.
    CHECK(fit.slope_interval.high - fit.slope == near(2.109816 * 1.545790, share));
}

TEST_CASE("the lines of single athletes are lme4's, with Henderson's errors") {
    // lme4 1.1-31: coef(fit); the error computed in R 4.2 from Henderson's formula at lme4's estimates.
    const auto fit = *sleepstudy().fit();
    CHECK(fit.lines[0].intercept == near(253.663670, share));
    CHECK(fit.lines[0].slope == near(19.666258, share));
    CHECK(fit.lines[1].intercept == near(211.006528, share));
    CHECK(fit.lines[1].slope == near(1.847583, share));
    CHECK(fit.lines[0].slope_error == near(2.33627587, share));
}

TEST_CASE("unequal reps weigh by their sampling variance, and the day's scatter is told apart from it") {
    // The same likelihood written with full matrices in R 4.2 and left to its optim().
    const auto fit = *unequal_sleepstudy().fit();
    CHECK(fit.points == 162);
    CHECK(fit.criterion == near(1583.49842367, 1e-9));
    CHECK(fit.intercept == near(250.0131628, share));
    CHECK(fit.intercept_error == near(7.2223152, share));
    CHECK(fit.slope == near(10.8796430, share));
    CHECK(fit.slope_error == near(1.8107354, share));
    CHECK(fit.sd_intercept == near(26.0687127, share));
    CHECK(fit.sd_slope == near(6.9837443, share));
    CHECK(*fit.correlation == near(-.0857806, share));
    CHECK(fit.sd_residual == near(18.3340624, share));
}

TEST_CASE("athletes with one slope are a fit on the border, said as singular") {
    // lme4 1.1-31 on the same figures: isSingular, correlation -1.
    const double shift[] = {-1.2, -.6, 0, .1, .7, 1}, scatter[] = {.3, -.5, .2, -.1, .4, -.3};
    Squad squad;
    for (std::size_t athlete = 0; athlete < 6; ++athlete)
        for (std::size_t day = 0; day < 6; ++day) {
            squad.athletes[std::to_string(athlete)] = athlete;
            const double noise = scatter[(day * 5 + (athlete + 1) * 2) % 6];
            squad.points.push_back(
                {athlete, static_cast<double>(day), 10 + 2 * static_cast<double>(day) + 2 * shift[athlete] + noise, 0});
        }
    const auto fit = *squad.fit();
    CHECK(fit.singular);
    CHECK(fit.criterion == near(57.173119991, 1e-9));
    CHECK(fit.intercept == near(10.128571, share));
    CHECK(fit.intercept_error == near(.6967725852, share));
    CHECK(fit.slope == near(1.9485714, share));
    CHECK(fit.slope_error == near(.0357273, share));
    CHECK(fit.sd_intercept == near(1.6881462, share));
    CHECK(fit.sd_slope == near(.0278106, share));
    CHECK(*fit.correlation == near(-1, 1e-9));
    CHECK(fit.sd_residual == near(.3471185, share));
}

TEST_CASE("moving the calendar or changing the unit changes nothing but the units") {
    Squad squad = unequal_sleepstudy();
    const auto before = *squad.fit();
    for (SquadPoint& point : squad.points) {
        point.day += 20'000;
        point.value = point.value / 1000 + 3;
        point.sampling_variance /= 1e6;
    }
    const auto after = *squad.fit();
    CHECK(after.slope * 1000 == near(before.slope, 1e-5));
    CHECK(after.slope_error * 1000 == near(before.slope_error, 1e-5));
    CHECK(after.sd_slope * 1000 == near(before.sd_slope, 1e-5));
    CHECK(after.sd_residual * 1000 == near(before.sd_residual, 1e-5));
    CHECK(after.lines[3].slope * 1000 == near(before.lines[3].slope, 1e-5));
}

TEST_CASE("an athlete with one value leans on the squad, one without has the squad's slope") {
    Squad squad = sleepstudy();
    squad.points.push_back({18, 0, 300, 0});
    const auto fit = *fit_squad(squad.points, 20);
    CHECK(fit.athletes == 19);
    CHECK(fit.lines[18].points == 1);
    CHECK(fit.lines[19].points == 0);
    CHECK(fit.lines[19].slope == near(fit.slope, 1e-12));
    CHECK(fit.lines[19].slope_error > fit.lines[0].slope_error);
}

TEST_CASE("what can't be told is not fitted") {
    Squad squad = sleepstudy();
    CHECK_FALSE(fit_squad({}, 0));
    CHECK_FALSE(fit_squad(std::span(squad.points).first(20), 2));  // two athletes
    std::vector<SquadPoint> pairs, exact, one_day;
    for (std::size_t athlete = 0; athlete < 5; ++athlete)
        for (int day = 0; day < 4; ++day) {
            const double on_line = 1.0 + static_cast<double>(athlete) * day;
            exact.push_back({athlete, static_cast<double>(day), on_line, 0});
            one_day.push_back({athlete, 7, on_line, 0});
            if (day < 2) pairs.push_back(exact.back());
        }
    CHECK_FALSE(fit_squad(pairs, 5));    // two values an athlete leave no scatter to see
    CHECK_FALSE(fit_squad(exact, 5));    // nor do values that lie on their lines
    CHECK_FALSE(fit_squad(one_day, 5));  // and a day alone has no slope
}

TEST_CASE("a thousand random squads settle, on the border or off it") {
    breakstep::Random random(41);
    int singular = 0;
    for (int squad = 0; squad < 1000; ++squad) {
        std::vector<SquadPoint> points;
        const std::size_t athletes = 4 + random.below(8);
        const bool weighted = random.chance(.5);
        const double level = random.chance(.5) ? 1 : 0, growth = random.chance(.5) ? .05 : 0;
        for (std::size_t athlete = 0; athlete < athletes; ++athlete) {
            const double own = level * random.normal(), slope = growth * random.normal();
            for (int week = 0; week < 8; ++week)
                if (!random.chance(.2)) {
                    const double v = weighted ? 20.0 / (15 + random.below(46)) : 0;
                    points.push_back({athlete, week * 7.0,
                                      own + slope * week * 7 + random.normal() + std::sqrt(v) * random.normal(), v});
                }
        }
        const auto fit = fit_squad(points, athletes);
        if (!fit) continue;
        CAPTURE(squad);
        CHECK(fit->settled);
        CHECK(std::isfinite(fit->criterion));
        CHECK(fit->slope_error > 0);
        singular += fit->singular ? 1 : 0;
    }
    INFO("seed 41, singular " << singular);
    CHECK(singular > 100);
    CHECK(singular < 900);
}
