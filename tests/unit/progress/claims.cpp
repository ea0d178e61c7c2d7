#include "core/progress/claims.hpp"

#include <vector>

#include <doctest/doctest.h>

#include "unit/progress/near.hpp"

using namespace breakstep::progress;
using breakstep::test::near;

namespace {

std::vector<EveningValue> weekly(const std::vector<double>& values) {
    std::vector<EveningValue> evenings;
    for (std::size_t week = 0; week < values.size(); ++week)
        evenings.push_back({static_cast<double>(week) * 7, values[week]});
    return evenings;
}

std::vector<EveningValue> negated(std::vector<EveningValue> evenings) {
    for (EveningValue& evening : evenings) evening.value = -evening.value;
    return evenings;
}

const std::vector<EveningValue> rising = weekly({50, 54, 51, 58, 57, 63, 60, 66, 64, 70});
const std::vector<EveningValue> level = weekly({50, 54, 51, 58, 49, 53, 57, 50, 55, 52});

}  // namespace

TEST_CASE("the line through an athlete's evenings is least squares") {
    // R 4.2: summary(lm(y ~ day)), confint(), two-sided p halved.
    const auto claim = claim_at_end_of_term(rising, Better::higher);
    CHECK(claim.line->slope == near(.29177489177489, 1e-9));
    CHECK(claim.line->slope_error == near(.03601669163628, 1e-9));
    CHECK(claim.line->intercept == near(50.1090909090909, 1e-9));
    CHECK(claim.line->scatter == near(2.289964932906, 1e-9));
    CHECK(claim.line->slope_interval.low == near(.20872025192526, 1e-9));
    CHECK(claim.line->slope_interval.high == near(.37482953162453, 1e-9));
    CHECK(claim.p_better == near(1.9944650574039e-05, 1e-8));
    CHECK(claim.line->rise() == near(63 * .29177489177489, 1e-9));
}

TEST_CASE(
    "a rise beyond the athlete's own scatter is an improvement where higher is better, and worse where lower is") {
    CHECK(claim_at_end_of_term(rising, Better::higher).claim == Claim::improved);
    CHECK(claim_at_end_of_term(rising, Better::lower).claim == Claim::worse);
    CHECK(claim_at_end_of_term(negated(rising), Better::lower).claim == Claim::improved);
    CHECK(claim_at_end_of_term(negated(rising), Better::higher).claim == Claim::worse);
    CHECK(claim_at_end_of_term(level, Better::higher).claim == Claim::no_clear_change);
    CHECK_FALSE(claim_at_end_of_term(rising, Better::higher).provisional);
}

TEST_CASE("five evenings make no claim however steep, six may") {
    const auto five = std::span(rising).first(5);
    CHECK(claim_at_end_of_term(weekly({1, 2, 3, 4, 5.1}), Better::higher).claim == Claim::too_few);
    CHECK(claim_at_end_of_term(weekly({1, 2, 3, 4, 5.1, 6}), Better::higher).claim == Claim::improved);
    CHECK(claim_at_end_of_term(five, Better::higher).line);
    CHECK(claim_at_end_of_term({}, Better::higher).claim == Claim::too_few);
    CHECK(word(Claim::too_few) == "too few evenings");
}

TEST_CASE("the border of a claim is t(.975, n - 2)") {
    // R 4.2: qt(.975, 4) = 2.776445. y = b x + e with e orthogonal to 1 and x, x = 0 .. 5: t = b sqrt(Sxx / s^2) with
    // Sxx = 17.5 and s^2 = sum(e^2) / 4; e = (1, -2, 1, 1, -2, 1) * sqrt(4 / 12) has s = 1.
    const double e = 0.57735026918962576;
    const auto at = [&](double t) {
        const double b = t / 4.1833001326703778;  // sqrt(17.5)
        std::vector<EveningValue> evenings;
        const double pattern[] = {1, -2, 1, 1, -2, 1};
        for (int i = 0; i < 6; ++i) evenings.push_back({static_cast<double>(i), b * i + e * pattern[i]});
        return claim_at_end_of_term(evenings, Better::higher).claim;
    };
    CHECK(at(2.7765) == Claim::improved);
    CHECK(at(2.7764) == Claim::no_clear_change);
    CHECK(at(-2.7764) == Claim::no_clear_change);
    CHECK(at(-2.7765) == Claim::worse);
}

TEST_CASE("evenings that are all alike show no change, and all on one day no line") {
    CHECK(claim_at_end_of_term(weekly(std::vector<double>(9, .1)), Better::higher).claim == Claim::no_clear_change);
    CHECK(claim_at_end_of_term(weekly(std::vector<double>(9, .1)), Better::higher).p_two_sided() == 1);
    const auto one_day = claim_at_end_of_term(std::vector<EveningValue>(8, {3, 1}), Better::higher);
    CHECK(one_day.claim == Claim::too_few);
    CHECK_FALSE(one_day.line);
}

TEST_CASE("a weekly claim is provisional, waits for the sixth week and needs two looks in a row") {
    // By the rule: looks from the sixth week on, two in a row, so the seventh evening is the first that can claim.
    const auto steep = weekly({1, 2, 3.1, 4, 5, 6.1, 7, 8, 9.1});
    for (std::size_t evenings = 1; evenings <= steep.size(); ++evenings) {
        const auto claim = claim_this_week(std::span(steep).first(evenings), Better::higher);
        CAPTURE(evenings);
        CHECK(claim.provisional);
        CHECK(claim.claim == (evenings < 6 ? Claim::too_few : evenings < 7 ? Claim::no_clear_change : Claim::improved));
    }
    std::vector<EveningValue> in_a_hurry = steep;
    for (EveningValue& evening : in_a_hurry) evening.day /= 7;  // nine evenings in nine days
    CHECK(claim_this_week(in_a_hurry, Better::higher).claim == Claim::no_clear_change);
    CHECK(claim_at_end_of_term(in_a_hurry, Better::higher).claim == Claim::improved);
}

TEST_CASE("one odd evening does not make a weekly claim") {
    // The last evening alone brings p under .0125; the look before it had not.
    const auto evenings = weekly({50, 53, 49, 54, 52, 55, 54, 59});
    const auto now = claim_this_week(evenings, Better::higher);
    const auto before = claim_this_week(std::span(evenings).first(7), Better::higher);
    CHECK(now.p_better < .0125);
    CHECK(before.p_better > .0125);
    CHECK(now.claim == Claim::no_clear_change);
}

TEST_CASE("baseline and now are the first and the last three evenings and never share one") {
    const auto both = *baseline_and_now(rising);
    CHECK(both.baseline == near((50 + 54 + 51) / 3.0, 1e-12));
    CHECK(both.now == near((66 + 64 + 70) / 3.0, 1e-12));
    CHECK_FALSE(baseline_and_now(std::span(rising).first(5)));
}
