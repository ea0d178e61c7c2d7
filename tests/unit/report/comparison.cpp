// What scoring again found beside what was kept, in one line.
#include <doctest/doctest.h>

#include <vector>

#include "club/results/comparison.hpp"

using namespace breakstep;

namespace {

std::vector<RepResult> reps(int count) {
    std::vector<RepResult> all;
    for (int i = 1; i <= count; ++i) {
        RepResult rep;
        rep.number = i;
        rep.verdict = Verdict::on_time;
        all.push_back(rep);
    }
    return all;
}

}  // namespace

TEST_CASE("reps that are as they were kept are told as such, with how many they are") {
    CHECK(comparison_words(reps(20), reps(20)) == "the same as what was kept, all 20 reps");
    CHECK(comparison_words(reps(1), reps(1)) == "the same as what was kept, 1 rep");
    CHECK(comparison_words({}, {}) == "the same as what was kept: no rep");
}

TEST_CASE("each rep that differs is named with both verdicts, or that its figures do, five of them") {
    auto kept = reps(20);
    kept[3].verdict = Verdict::late;
    kept[4].peak = 7;
    CHECK(
        comparison_words(reps(20), kept) ==
        "differs from what was kept in 2 of 20 reps: set 1 rep 4 (on time, kept as late), set 1 rep 5 (other figures)");
    for (RepResult& rep : kept) rep.verdict = Verdict::late;
    CHECK(comparison_words(reps(20), kept).find("rep 5 (on time, kept as late) and 15 more") != std::string::npos);
}

TEST_CASE("reps that only one of the two has are counted") {
    CHECK(comparison_words(reps(20), reps(18)) == "differs from what was kept: 20 reps by the journal, 18 kept");
    auto kept = reps(1);
    kept[0].verdict = Verdict::missed;
    CHECK(comparison_words(reps(2), kept) ==
          "differs from what was kept: 2 reps by the journal, 1 kept; of those in both 1 differs: set 1 rep 1 (on "
          "time, kept as "
          "missed)");
}
