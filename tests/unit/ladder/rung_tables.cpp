// How often a rung is passed by luck and how soon it speaks, against figures that a second program in another language
// got from the same definition (2,000 athletes a cell, 3,000 for the false passes; at most 1,200 reps). A cell agrees
// if it lies within three standard errors of the difference; of all cells one may lie outside.
#include <doctest/doctest.h>

#include <array>
#include <cmath>
#include <vector>

#include "core/ladder/simulated_rungs.hpp"

using namespace breakstep::ladder;

namespace {

struct Speed {
    Spoken what;
    double rate;
    std::uint32_t reps_an_evening;
    double median, ninety;
};
struct Luck {
    Spoken what;
    double rate, evening_scatter, share;
};

constexpr double theirs_of_speed = 2000, theirs_of_luck = 3000;
constexpr double mark = 0.5;

constexpr std::array speeds{
    Speed{Spoken::passed, .6, 30, 232, 637},     Speed{Spoken::passed, .6, 15, 184, 530},
    Speed{Spoken::passed, .7, 30, 56, 132},      Speed{Spoken::passed, .7, 15, 44, 107},
    Speed{Spoken::passed, .8, 30, 24, 53},       Speed{Spoken::passed, .8, 15, 22, 45},
    Speed{Spoken::passed, .9, 30, 13, 24},       Speed{Spoken::passed, .9, 15, 13, 22},
    Speed{Spoken::step_down, .25, 30, 181, 485}, Speed{Spoken::step_down, .20, 30, 77, 188},
    Speed{Spoken::step_down, .15, 30, 42, 94},
};
constexpr std::array lucks{
    Luck{Spoken::passed, .5, 0, .009},
    Luck{Spoken::passed, .5, .3, .045},
    Luck{Spoken::passed, .5, .5, .158},
};

class Cells {
  public:
    void compare(double seen, double published, double standard_error, double ours, double theirs, double step) {
        // Both are samples: theirs has the same spread, times the root of the ratio of athletes. `step` is what
        // rounding hides.
        const double limit = 3.0 * standard_error * std::sqrt(1.0 + ours / theirs) + step;
        ++cells_;
        if (std::abs(seen - published) <= limit) return;
        ++outside_;
        MESSAGE("seen " << seen << ", published " << published << ", limit " << limit);
    }
    void check() const {
        REQUIRE(cells_ > 0);
        CHECK(outside_ <= 1);
    }

  private:
    int cells_ = 0, outside_ = 0;
};

void compare_all(std::uint32_t athletes, std::uint64_t seed) {
    const auto ours = static_cast<double>(athletes);
    Cells cells;
    for (const Speed& speed : speeds) {
        const RungTrial trial{mark, speed.rate, .3, speed.reps_an_evening, 1200};
        const auto reps = reps_until(speed.what, trial, athletes, seed);
        const Quantile median = quantile_of(reps, .5, seed), ninety = quantile_of(reps, .9, seed);
        cells.compare(median.value, speed.median, median.standard_error, ours, theirs_of_speed, .5);
        cells.compare(ninety.value, speed.ninety, ninety.standard_error, ours, theirs_of_speed, .5);
    }
    for (const Luck& luck : lucks) {
        const RungTrial trial{mark, luck.rate, luck.evening_scatter, 30, 1200};
        const Share share = share_of(reps_until(luck.what, trial, athletes, seed), 1200);
        cells.compare(share.value, luck.share, share.standard_error, ours, theirs_of_luck, .0005);
    }
    cells.check();
}

}  // namespace

TEST_CASE("a rung at half is passed, by luck and by right, as often and as soon as was published") {
    compare_all(300, 20260731);
}

TEST_CASE("the same with as many athletes as were published (tests/run leaves this one out)" * doctest::skip()) {
    compare_all(3000, 20260801);
}

TEST_CASE("an athlete at the mark is hardly ever offered the step down, one at its own mark seldom") {
    constexpr std::uint32_t athletes = 300;
    RungTrial trial{mark, mark, .3, 30, 1200};
    CHECK(share_of(reps_until(Spoken::step_down, trial, athletes, 5), 1200).value <=
          .002 + 3 * std::sqrt(.002 / athletes));
    trial.rate = mark - step_down_gap;
    CHECK(share_of(reps_until(Spoken::step_down, trial, athletes, 5), 1200).value <=
          .05 + 3 * std::sqrt(.05 * .95 / athletes));
}

TEST_CASE("a quantile and its standard error are those of the sample") {
    std::vector<std::uint32_t> reps;
    for (std::uint32_t i = 1; i <= 1000; ++i) reps.push_back(i);
    const Quantile median = quantile_of(reps, .5, 3);
    CHECK(median.value == 500);
    // Of a uniform sample the median's standard error is range / (2 sqrt n).
    CHECK(median.standard_error == doctest::Approx(1000 / (2 * std::sqrt(1000.0))).epsilon(.25));
    CHECK(quantile_of({7, 7, 7, 7}, .9, 3).standard_error == 0);
    CHECK(share_of({1, 2, 11, 11}, 10).value == .5);
}
