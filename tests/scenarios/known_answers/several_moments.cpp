// Reps that may be met in one of several moments: which window a strike is measured by, and what is said.
#include <doctest/doctest.h>

#include "support/journal_script.hpp"

using namespace breakstep;
using namespace breakstep::testing;

namespace {

const std::vector<AttackPhase> rebound{{Phase::lift, false, 110ms},      {Phase::up, false, 170ms},
                                       {Phase::pull_back, false, 140ms}, {Phase::up, false, 170ms},
                                       {Phase::pull_back, false, 140ms}, {Phase::drop, false, 130ms},
                                       {Phase::gap, false, 450ms}};
constexpr Duration toe_off = 5s, drop = toe_off + 730ms, touchdown = drop + 130ms, ends = touchdown + 450ms;

RepResult struck_at(Duration when, MomentSet moments) {
    AttackChoice asked;
    asked.kind = AttackKind::rebound;
    asked.moment = Moment::drop;
    asked.moments = moments;
    JournalScript script;
    script.begin();
    script.plan(0, 1s);
    script.open(RepId{0}, asked, rebound, toe_off, ends + 500ms);
    script.confirm(RepId{0}, rebound, toe_off);
    script.hit(when);
    script.close(RepId{0}, ends + 500ms);
    return Folded(script).score.reps().at(0);
}

constexpr MomentSet either = moment_bit(Moment::drop) | moment_bit(Moment::gap);

}  // namespace

TEST_CASE("drop or gap: a strike in either is on time, its latency from the moment that it hit") {
    const RepResult in_drop = struck_at(drop + 60ms, either), in_gap = struck_at(touchdown + 100ms, either);
    CHECK(in_drop.verdict == Verdict::on_time);
    CHECK(in_drop.latency == 60ms);
    CHECK(in_gap.verdict == Verdict::on_time);
    CHECK(in_gap.latency == 100ms);
    CHECK(in_gap.error == 100ms - 225ms);
    CHECK(struck_at(touchdown + 100ms, 0).verdict == Verdict::late);
}

TEST_CASE("drop or gap: borders stay half open, and before the drop it is a clash, after the gap late") {
    CHECK(struck_at(drop - 1ms, either).verdict == Verdict::clash);
    CHECK(struck_at(drop, either).verdict == Verdict::on_time);
    CHECK(struck_at(touchdown - 1ms, either).verdict == Verdict::on_time);
    CHECK(struck_at(touchdown, either).verdict == Verdict::on_time);
    CHECK(struck_at(ends - 1ms, either).verdict == Verdict::on_time);
    CHECK(struck_at(ends, either).verdict == Verdict::late);
    CHECK(struck_at(toe_off + 20ms, either).verdict == Verdict::early);
    // Where none was hit, from the first of them.
    CHECK(struck_at(toe_off + 20ms, either).latency == 20ms - 730ms);
}
