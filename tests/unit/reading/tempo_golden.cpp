// The golden traces of the tempo test. They were computed once from the method's definition and are kept to the digits
// given; a second program in another language, written from the same definition, gave the same values.
#include <doctest/doctest.h>

#include <cmath>
#include <vector>

#include "core/reading/law.hpp"
#include "core/reading/seconds.hpp"
#include "core/reading/tempo_test.hpp"
#include "core/reading/timeable_index.hpp"

using namespace breakstep;
using namespace breakstep::reading;

namespace {

struct Trace {
    std::vector<double> wealth;
    HitCount count;
};

Trace trace_of(const std::vector<double>& intervals) {
    TempoTest test;
    HitTally tally;
    Trace trace;
    for (const double interval : intervals) {
        test.predict(400ms);
        if (const auto outcome = test.entered(duration_from(interval))) tally.add(outcome->hit, outcome->chance);
        trace.wealth.push_back(test.wealth());
    }
    trace.count = tally.count();
    return trace;
}

/// Golden values carry six decimals, or ten digits where they are large.
void check_wealth(const std::vector<double>& seen, const std::vector<double>& golden) {
    REQUIRE(seen.size() == golden.size());
    for (std::size_t i = 0; i < golden.size(); ++i)
        CHECK(std::abs(seen[i] - golden[i]) <= (golden[i] < 10'000 ? 5.1e-7 : 5.1e-6));
}

}  // namespace

TEST_CASE("a metronome with one slip gives the golden wealth") {
    const Trace trace = trace_of({.82, .79, .85, .80, .83, .78, .81, 1.40, .82, .80, .84, .79});
    check_wealth(trace.wealth, {1, 1.742357, 4.852176, 17.834144, 72.820839, 288.786174, 1429.953971, 122.582523,
                                591.315503, 3087.439247, 15498.91587, 84963.962732});
    CHECK(trace.count.hits == 8);
    CHECK(trace.count.scored == 9);
    CHECK(std::abs(trace.count.chance - 2.458316) <= 5.1e-7);
    CHECK(std::abs(trace.count.timeable() - 84.7134) <= 5.1e-5);
}

TEST_CASE("long-short gives the golden wealth") {
    const Trace trace = trace_of({.70, 1.30, .72, 1.27, .69, 1.33, .71, 1.29});
    check_wealth(trace.wealth, {1, .636453, .990324, 2.452619, 11.795875, 59.244987, 366.024805, 2346.288888});
    CHECK(trace.count.hits == 5);
    CHECK(trace.count.scored == 5);
    CHECK(std::abs(trace.count.chance - .92714) <= 5.1e-6);
}

TEST_CASE("the chance of a window is that of a memoryless athlete of the same pace") {
    CHECK(std::abs(chance_of(.75, 1.05, .9, .4) - .224054) <= 5.1e-7);
}
