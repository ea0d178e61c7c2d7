// The ladder's account to its golden traces (computed from the definition by a second program, in another language),
// and what a rung does with it.
#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <string>
#include <vector>

#include "core/ladder/rung.hpp"

using namespace breakstep;
using namespace breakstep::ladder;

namespace {

enum class Side : bool { up, down };

Rung rung_at(double mark) {
    const auto rung = Rung::at(mark);
    REQUIRE(rung.has_value());
    return *rung;
}

void add(Rung& rung, const std::string& evening) {
    for (const char rep : evening) rung.add(rep == '1');
    rung.end_evening();
}

std::vector<double> trace_of(Rung& rung, Side side, const std::vector<std::string>& evenings) {
    std::vector<double> trace;
    for (const std::string& evening : evenings) {
        for (const char rep : evening) {
            rung.add(rep == '1');
            trace.push_back((side == Side::up ? rung.up() : rung.down()).wealth());
        }
        rung.end_evening();
    }
    return trace;
}

void check_trace(const std::vector<double>& seen, const std::vector<double>& golden) {
    REQUIRE(seen.size() == golden.size());
    for (std::size_t i = 0; i < golden.size(); ++i) CHECK(std::abs(seen[i] - golden[i]) <= 5.1e-7);
}

}  // namespace

TEST_CASE("three good evenings give the golden wealth and pass at the 24th rep") {
    Rung rung = rung_at(0.5);
    check_trace(
        trace_of(rung, Side::up, {"1011110110", "1110111011", "11111111"}),
        {1.321721, .840056,   1.064728,  1.377169,  1.811809,  2.416032,  1.435895,  1.848822, 2.408317, 1.497211,
         2.060755, 2.856324,  3.977595,  2.192985,  2.956096,  4.001498,  5.431793,  3.066771, 4.051567, 5.366890,
         7.763549, 11.222028, 16.190574, 23.292539, 33.387886, 47.653614, 67.688088, 95.645324});
    CHECK(rung.passed_at() == 24);
    CHECK_FALSE(rung.step_down_at().has_value());
}

TEST_CASE("three bad evenings give the golden wealth of the step down, which is not offered yet") {
    Rung rung = rung_at(0.5);
    check_trace(trace_of(rung, Side::down, {"0010000100", "0000100000", "000000"}),
                {1.198671, 1.448095, .839429,  .977436,  1.146958, 1.355054,  1.610288,  .966773,  1.115331,
                 1.294165, 1.591376, 1.960895, 2.419572, 2.987925, 1.540191,  1.855762,  2.239345, 2.705166,
                 3.270277, 3.955064, 5.039431, 6.410218, 8.138050, 10.309451, 13.030032, 16.428219});
    CHECK_FALSE(rung.step_down_at().has_value());
    CHECK_FALSE(rung.passed());
    add(rung, "00");
    CHECK(rung.step_down_at() == 27);
}

TEST_CASE("the shortest pass is 8, 10 and 13 in a row at marks of 0.4, 0.5 and 0.6") {
    for (const auto& [mark, reps] : {std::pair{0.4, 8U}, std::pair{0.5, 10U}, std::pair{0.6, 13U}}) {
        Rung rung = rung_at(mark);
        add(rung, std::string(20, '1'));
        CHECK(rung.passed_at() == reps);
    }
}

TEST_CASE("before the first rep the wealth is 1, and evenings without a rep change nothing") {
    Rung rung = rung_at(0.5);
    CHECK(rung.up().wealth() == 1.0);
    rung.end_evening();
    rung.end_evening();
    CHECK(rung.up().evenings() == 0);
    Rung plain = rung_at(0.5);
    add(plain, "1101");
    rung.end_evening();
    add(rung, "1101");
    CHECK(rung.up().wealth() == plain.up().wealth());
    CHECK(rung.up().evenings() == 1);
}

TEST_CASE("within an evening only the count matters, never the order, over evenings it does") {
    Rung first = rung_at(0.5), second = rung_at(0.5), parted = rung_at(0.5);
    add(first, "1110001011");
    add(second, "0001111110");
    add(parted, "11100");
    add(parted, "01011");
    CHECK(first.up().log_wealth() == doctest::Approx(second.up().log_wealth()).epsilon(1e-12));
    CHECK(std::abs(first.up().log_wealth() - parted.up().log_wealth()) > 1e-3);
}

TEST_CASE("the mean wealth after one more rep is at most what it was, whatever the past, at the mark and below it") {
    // One law of the null: this evening's rate is the mark itself, or less. Over all ways an evening of ten may go, the
    // mean of the wealth is at most 1.
    for (const double rate : {0.5, 0.4, 0.2}) {
        double mean = 0;
        for (unsigned way = 0; way < 1024; ++way) {
            Rung rung = rung_at(0.5);
            double chance = 1;
            for (unsigned rep = 0; rep < 10; ++rep) {
                const bool hit = ((way >> rep) & 1U) != 0;
                rung.add(hit);
                chance *= hit ? rate : 1 - rate;
            }
            mean += chance * rung.up().wealth();
        }
        CHECK(mean <= 1.0 + 1e-9);
    }
}

TEST_CASE("the step down is not offered on the first evening, but with the first rep of the second") {
    Rung rung = rung_at(0.5);
    add(rung, std::string(40, '0'));
    CHECK(rung.down().wealth() > 20);
    CHECK_FALSE(rung.step_down_at().has_value());
    rung.add(false);
    CHECK(rung.step_down_at() == 41);
}

TEST_CASE("a rung once passed stays passed, whatever comes after") {
    Rung rung = rung_at(0.5);
    add(rung, std::string(12, '1'));
    REQUIRE(rung.passed_at() == 10);
    for (int evening = 0; evening < 5; ++evening) add(rung, std::string(30, '0'));
    CHECK(rung.passed_at() == 10);
    CHECK(rung.up().wealth() < 1.0);
}

TEST_CASE("a million reps on one evening, and ten thousand evenings, stay finite") {
    Rung always = rung_at(0.5);
    for (int rep = 0; rep < 1'000'000; ++rep) always.add(true);
    CHECK(always.up().wealth() == 1e300);
    CHECK(std::isfinite(always.up().log_wealth()));
    CHECK(always.down().wealth() > 0);
    CHECK(std::isfinite(always.down().log_wealth()));
    Rung often = rung_at(0.5);
    for (int evening = 0; evening < 10'000; ++evening) add(often, "0");
    CHECK(std::isfinite(often.up().log_wealth()));
    CHECK(often.up().evenings() == 10'000);
}

TEST_CASE("a mark outside (0.15, 1) makes no rung, and says so") {
    for (const double mark : {0.15, 0.0, -1.0, 1.0, 1.5, std::numeric_limits<double>::quiet_NaN(),
                              std::numeric_limits<double>::infinity()}) {
        const auto rung = Rung::at(mark);
        REQUIRE_FALSE(rung.has_value());
        CHECK(rung.error().kind == ErrorKind::bad_input);
        CHECK_FALSE(FeintRung::at(mark).has_value());
    }
    for (const double mark : {std::nextafter(0.15, 1.0), std::nextafter(1.0, 0.0)}) {
        const auto rung = Rung::at(mark);
        if (!rung) continue;  // too near to the border for its step down to have a mark
        Rung value = *rung;
        add(value, "1010101");
        CHECK(std::isfinite(value.up().log_wealth()));
        CHECK(std::isfinite(value.down().log_wealth()));
    }
}

TEST_CASE("a rung with feints is passed when attacks and held feints have both ever reached 20") {
    auto rung = *FeintRung::at(0.5);
    for (int rep = 0; rep < 10; ++rep) rung.add_attack(true);
    CHECK(rung.attacks().passed());
    CHECK_FALSE(rung.passed());
    for (int rep = 0; rep < 12; ++rep) rung.add_feint(true);
    CHECK_FALSE(rung.passed());
    // The attacks' wealth falls again: what counts is that it was there.
    for (int rep = 0; rep < 10; ++rep) rung.add_attack(false);
    CHECK(rung.attacks().up().wealth() < 20);
    rung.add_feint(true);
    CHECK(rung.passed_at() == 33);
    CHECK(rung.feints().mark() == 0.6);
}

TEST_CASE("an evening without a feint does not age the feints' account") {
    auto with = *FeintRung::at(0.5), without = *FeintRung::at(0.5);
    with.add_feint(true);
    with.end_evening();
    with.add_attack(true);
    with.end_evening();
    with.add_feint(true);
    without.add_feint(true);
    without.end_evening();
    without.add_feint(true);
    CHECK(with.feints().wealth() == without.feints().wealth());
    CHECK(with.feints().evenings() == 2);
}
