// A partner's leg in a journal: in which phase a contact fell, at every border and a nanosecond before it.
#include <doctest/doctest.h>

#include "support/journal_script.hpp"

using namespace breakstep;
using namespace breakstep::testing;

namespace {

constexpr Uncertainty gate_bound = 20us;

struct Border {
    Phase phase;
    Duration at;
};
// From toe-off; a kick that comes down, and after its gap is over.
const std::vector<Border> kick{{Phase::lift, 0ms},
                               {Phase::up_or_pull_back, 120ms},
                               {Phase::drop, 520ms},
                               {Phase::gap, 680ms},
                               {Phase::guard, 930ms}};

RepResult struck(const std::vector<Border>& leg, CameKind came, Duration contact, AttackChoice asked = {},
                 bool struck = true) {
    JournalScript script;
    script.begin();
    script.plan(0, 1s);
    const Duration toe_off = 4s;
    script.open(RepId{0}, asked, {{Phase::lift, false, 140ms}}, 3600ms, 6600ms);
    script.add(LegExpected{RepId{0}, true});
    script.add(PartnerCued{RepId{0}, script.at(3600ms), 2us, OnsetSource::lamp});
    if (struck) script.hit(toe_off + contact);
    for (const Border& border : leg)
        script.add(PhaseSeen{RepId{0}, border.phase, script.at(toe_off + border.at), gate_bound, OnsetSource::gate});
    script.add(RepClosed{RepId{0}, script.at(toe_off + leg.back().at + 500ms), came, Impossible::none});
    const Folded folded(script);
    REQUIRE(folded.score.reps().size() == 1);
    CHECK(folded.score.totals().misplaced_events == 0);
    return folded.score.reps().front();
}

}  // namespace

TEST_CASE("a contact falls in the phase that holds it, to the nanosecond, at each border of a leg") {
    for (std::size_t i = 0; i < kick.size(); ++i) {
        CAPTURE(i);
        CHECK(struck(kick, CameKind::single, kick[i].at).phase == kick[i].phase);
        const Phase before = i == 0 ? Phase::guard : kick[i - 1].phase;
        CHECK(struck(kick, CameKind::single, kick[i].at - 1ns).phase == before);
    }
}

TEST_CASE("verdicts against a leg: clash above the hip, on time in the drop, early and late as ever") {
    AttackChoice drop;
    drop.moment = Moment::drop;
    CHECK(struck(kick, CameKind::single, -101ms, drop).verdict == Verdict::early);
    CHECK(struck(kick, CameKind::single, 60ms, drop).verdict == Verdict::early);
    CHECK(struck(kick, CameKind::single, 120ms, drop).verdict == Verdict::clash);
    CHECK(struck(kick, CameKind::single, 520ms - 1ns, drop).verdict == Verdict::clash);
    CHECK(struck(kick, CameKind::single, 520ms, drop).verdict == Verdict::on_time);
    CHECK(struck(kick, CameKind::single, 680ms - 1ns, drop).verdict == Verdict::on_time);
    CHECK(struck(kick, CameKind::single, 680ms, drop).verdict == Verdict::late);
    const RepResult rep = struck(kick, CameKind::single, 600ms, drop);
    CHECK(rep.latency == 80ms);
    CHECK(rep.uncertainty == pad_bound + gate_bound);
    CHECK(rep.cue_to_toe_off == 400ms);
    CHECK(rep.border_bounds == std::vector<Uncertainty>(5, gate_bound));
}

TEST_CASE("of range nothing is said beside a partner's box") {
    CHECK(struck(kick, CameKind::single, {}, {}, false).verdict == Verdict::missed);
}

TEST_CASE("around counts where a carry was asked and came, and the leg stayed up 400 ms") {
    AttackChoice carry;
    carry.kind = AttackKind::carry;
    carry.counter = Counter::spin;
    CHECK(struck(kick, CameKind::carry, 300ms, carry).verdict == Verdict::around);
    CHECK(struck(kick, CameKind::single, 300ms, carry).verdict == Verdict::clash);
    std::vector<Border> shorter = kick;
    shorter[1].at = 121ms;
    CHECK(struck(shorter, CameKind::carry, 300ms, carry).verdict == Verdict::clash);
}

TEST_CASE("a feint that came is held back from, whatever was asked, a kick that came is answered, though a feint was") {
    const std::vector<Border> feint{{Phase::lift, 0ms}, {Phase::guard, 240ms}};
    CHECK(struck(feint, CameKind::feint, 100ms).verdict == Verdict::took_the_feint);
    CHECK(struck(feint, CameKind::feint, {}, {}, false).verdict == Verdict::held);
    AttackChoice asked;
    asked.kind = AttackKind::feint;
    CHECK(struck(kick, CameKind::single, 600ms, asked).verdict == Verdict::on_time);
    CHECK(struck(kick, CameKind::single, 600ms, asked).scored);
}

TEST_CASE("phases out of order, of no partner's rep, or after a close change nothing and are counted") {
    JournalScript script;
    script.begin();
    script.open(RepId{0}, {}, {{Phase::lift, false, 140ms}}, 4s, 7s);
    script.add(PhaseSeen{RepId{0}, Phase::lift, script.at(4s), gate_bound, OnsetSource::gate});
    script.add(LegExpected{RepId{0}, false});
    script.add(PhaseSeen{RepId{0}, Phase::lift, script.at(4s), gate_bound, OnsetSource::gate});
    script.add(PhaseSeen{RepId{0}, Phase::guard, script.at(3s), gate_bound, OnsetSource::gate});
    script.add(PhaseSeen{RepId{9}, Phase::lift, script.at(4s), gate_bound, OnsetSource::gate});
    script.add(RepClosed{RepId{0}, script.at(7s), CameKind::feint, Impossible::none});
    script.add(PhaseSeen{RepId{0}, Phase::guard, script.at(8s), gate_bound, OnsetSource::gate});
    const Folded folded(script);
    REQUIRE(folded.score.reps().size() == 1);
    // No end was told: no phase, no verdict.
    CHECK(folded.score.reps().front().void_reason == VoidReason::link_lost);
    CHECK(folded.score.totals().misplaced_events == 3);
}
