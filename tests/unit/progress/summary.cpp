#include "core/progress/summary.hpp"

#include <cmath>
#include <vector>

#include <doctest/doctest.h>

#include "unit/progress/near.hpp"

using namespace breakstep::progress;
using breakstep::test::near;
using doctest::Approx;

namespace {

// NIST Statistical Reference Datasets, univariate: data and certified values (public domain). The transcriptions prove
// themselves: all three certified values come out.
const std::vector<double> michelso{
    299.85, 299.74, 299.90, 300.07, 299.93, 299.85, 299.95, 299.98, 299.98, 299.88, 300.00, 299.98, 299.93,
    299.65, 299.76, 299.81, 300.00, 300.00, 299.96, 299.96, 299.96, 299.94, 299.96, 299.94, 299.88, 299.80,
    299.85, 299.88, 299.90, 299.84, 299.83, 299.79, 299.81, 299.88, 299.88, 299.83, 299.80, 299.79, 299.76,
    299.80, 299.88, 299.88, 299.88, 299.86, 299.72, 299.72, 299.62, 299.86, 299.97, 299.95, 299.88, 299.91,
    299.85, 299.87, 299.84, 299.84, 299.85, 299.84, 299.84, 299.84, 299.89, 299.81, 299.81, 299.82, 299.80,
    299.77, 299.76, 299.74, 299.75, 299.76, 299.91, 299.92, 299.89, 299.86, 299.88, 299.72, 299.84, 299.85,
    299.85, 299.78, 299.89, 299.84, 299.78, 299.81, 299.76, 299.81, 299.79, 299.81, 299.82, 299.85, 299.87,
    299.87, 299.81, 299.74, 299.81, 299.94, 299.95, 299.80, 299.81, 299.87};
const std::vector<double> mavro{
    2.00180, 2.00170, 2.00180, 2.00190, 2.00180, 2.00170, 2.00150, 2.00140, 2.00150, 2.00150, 2.00170, 2.00180, 2.00180,
    2.00190, 2.00190, 2.00210, 2.00200, 2.00160, 2.00140, 2.00130, 2.00130, 2.00150, 2.00150, 2.00160, 2.00150, 2.00140,
    2.00130, 2.00140, 2.00150, 2.00140, 2.00150, 2.00160, 2.00150, 2.00160, 2.00190, 2.00200, 2.00200, 2.00210, 2.00220,
    2.00230, 2.00240, 2.00250, 2.00270, 2.00260, 2.00260, 2.00260, 2.00270, 2.00260, 2.00250, 2.00240};
const std::vector<double> lew{
    -213, -564, -35,  -15,  141,  115,  -420, -360, 203,  -338, -431, 194,  -220, -513, 154,  -125, -559, 92,   -21,
    -579, -52,  99,   -543, -175, 162,  -457, -346, 204,  -300, -474, 164,  -107, -572, -8,   83,   -541, -224, 180,
    -420, -374, 201,  -236, -531, 83,   27,   -564, -112, 131,  -507, -254, 199,  -311, -495, 143,  -46,  -579, -90,
    136,  -472, -338, 202,  -287, -477, 169,  -124, -568, 17,   48,   -568, -135, 162,  -430, -422, 172,  -74,  -577,
    -13,  92,   -534, -243, 194,  -355, -465, 156,  -81,  -578, -64,  139,  -449, -384, 193,  -198, -538, 110,  -44,
    -577, -6,   66,   -552, -164, 161,  -460, -344, 205,  -281, -504, 134,  -28,  -576, -118, 156,  -437, -381, 200,
    -220, -540, 83,   11,   -568, -160, 172,  -414, -408, 188,  -125, -572, -32,  139,  -492, -321, 205,  -262, -504,
    142,  -83,  -574, 0,    48,   -571, -106, 137,  -501, -266, 190,  -391, -406, 194,  -186, -553, 83,   -13,  -577,
    -49,  103,  -515, -280, 201,  300,  -506, 131,  -45,  -578, -80,  138,  -462, -361, 201,  -211, -554, 32,   74,
    -533, -235, 187,  -372, -442, 182,  -147, -566, 25,   68,   -535, -244, 194,  -351, -463, 174,  -125, -570, 15,
    72,   -550, -190, 172,  -424, -385, 198,  -218, -536, 96};

std::vector<double> num_acc_4() {
    std::vector<double> values{10000000.2};
    for (int i = 0; i < 500; ++i) {
        values.push_back(10000000.1);
        values.push_back(10000000.3);
    }
    return values;
}

void check(const std::vector<double>& values, double certified_mean, double certified_deviation, double certified_lag,
           double tolerance = 1e-13) {
    CHECK(*mean(values) == near(certified_mean, 1e-15));
    CHECK(*standard_deviation(values) == near(certified_deviation, tolerance));
    CHECK(*lag_1(values) == near(certified_lag, tolerance));
}

}  // namespace

TEST_CASE("NIST's Michelso, Mavro and Lew come out as certified") {
    REQUIRE(michelso.size() == 100);
    check(michelso, 299.8524, .0790105478190518, .535199668621283, 1e-12);
    REQUIRE(mavro.size() == 50);
    check(mavro, 2.001856, .000429123454003053, .937989183438248, 1e-11);
    REQUIRE(lew.size() == 200);
    check(lew, -177.435, 277.332168044316, -.307304800605679);
}

TEST_CASE("NIST's NumAcc1 and NumAcc4 keep their scatter under a level of ten million") {
    check({10000001, 10000003, 10000002}, 10000002, 1, -.5);
    // .1 is certified; in doubles the data themselves have .10000000056.
    check(num_acc_4(), 10000000.2, .1, -.999, 1e-8);
}

TEST_CASE("no scatter without two values, no autocorrelation without scatter") {
    CHECK_FALSE(mean({}));
    CHECK_FALSE(standard_deviation(std::vector<double>{3}));
    CHECK_FALSE(lag_1(std::vector<double>(7, 0.1)));
    CHECK(*standard_deviation(std::vector<double>(7, 0.1)) < 1e-15);
}

TEST_CASE("the ranks of a median's interval and their coverage") {
    // Computed in R 4.2: qbinom(.025, n, .5) and 1 - 2 pbinom(r - 1, n, .5).
    CHECK(median_ranks(10)->low == 2);
    CHECK(median_ranks(10)->high == 9);
    CHECK(median_ranks(10)->coverage == near(.978516, 1e-6));
    CHECK(median_ranks(20)->low == 6);
    CHECK(median_ranks(20)->high == 15);
    CHECK(median_ranks(20)->coverage == near(.958611, 1e-6));
    CHECK(median_ranks(30)->low == 10);
    CHECK(median_ranks(30)->high == 21);
    CHECK(median_ranks(30)->coverage == near(.957226, 1e-6));
}

TEST_CASE("five values can't hold a median to 95 %, six can, a million are no trouble") {
    // 1 - 2 / 2^5 = .9375 and 1 - 2 / 2^6 = .96875, by hand.
    CHECK_FALSE(median_ranks(0));
    CHECK_FALSE(median_ranks(5));
    CHECK(median_ranks(6)->low == 1);
    CHECK(median_ranks(6)->coverage == Approx(.96875));
    // The normal law's rank is n / 2 - 1.959964 sqrt(n) / 2.
    CHECK(std::abs(static_cast<double>(median_ranks(1'000'000)->low) - 499'020) < 2);
}

TEST_CASE("a median with the order statistics around it") {
    std::vector<double> values;
    for (int i = 20; i >= 1; --i) values.push_back(i);
    const auto found = *median(values);
    CHECK(found.value == 10.5);
    CHECK(found.interval == Interval{6, 15});
    CHECK_FALSE(median({}));
    CHECK_FALSE(median({1, 2, 3})->interval);
}
