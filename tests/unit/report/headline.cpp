// What a page says first: its numbers agree with those that stand beneath it.
#include <doctest/doctest.h>

#include <vector>

#include "club/term/sentences.hpp"

using namespace breakstep;
using namespace breakstep::progress;

namespace {

/// A term of weekly tests of 32 scored reps each, so many on time.
AthleteTerm tests_with(const std::vector<std::uint64_t>& on_time) {
    AthleteTerm term;
    Followed& followed = term.claimed;
    followed.measure = on_time_rate;
    followed.cell = Cell{Moment::drop, Counter::front_hand, Stance::closed, true};
    CellTerm cell{*followed.cell, {}, {}, {}, {}};
    for (std::size_t week = 0; week < on_time.size(); ++week) {
        const auto day = static_cast<std::int32_t>(20'697 + 7 * week);
        const Share share{on_time[week], 32};
        followed.values.push_back({static_cast<double>(day), share.rate()});
        followed.reps += share.of;
        cell.evenings.push_back({day, share});
        cell.all.on_time += share;
    }
    followed.claim = claim_at_end_of_term(followed.values, Better::higher);
    followed.baseline_and_now = baseline_and_now(followed.values);
    term.cells = {cell};
    return term;
}

}  // namespace

TEST_CASE("where nothing changed the headline is of all evenings, as the counts beneath it") {
    // 58 of 256, 23 in 100; the last three evenings alone are 24 of 96, of which tenths made three.
    const AthleteTerm plover = tests_with({6, 11, 6, 4, 7, 9, 9, 6});
    REQUIRE(plover.claimed.claim.claim == Claim::no_clear_change);
    const Headline said = headline(plover, "Plover", Reader::child);
    CHECK(said.claim == "In tests Plover meets the drop on time about once in 4.");
    CHECK(said.beside == "No clear change this term; a small one would not show in eight evenings.");
    CHECK(headline(tests_with({6, 7, 6, 7, 6, 7}), "Plover", Reader::home).claim ==
          "In tests Plover meets the drop on time 2 times in 10.");
    CHECK(headline(tests_with({24, 23, 25, 24, 23, 25}), "Plover", Reader::home).claim ==
          "In tests Plover meets the drop on time about 3 times in 4.");
    CHECK(headline(tests_with({16, 17, 15, 16, 17, 15}), "Plover", Reader::home).claim ==
          "In tests Plover meets the drop on time 5 times in 10.");
}

TEST_CASE("where something changed it is said which evenings the two numbers are of") {
    const AthleteTerm heron = tests_with({8, 10, 12, 15, 17, 20, 22, 24});
    REQUIRE(heron.claimed.claim.claim == Claim::improved);
    const Headline said = headline(heron, "Heron", Reader::home);
    CHECK(said.claim == "Heron now meets the drop on time 7 times in 10, up from 3 when the term began.");
    CHECK(said.beside.starts_with("By the last three evenings and the first three. That is more"));
}
