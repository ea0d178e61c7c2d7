// Single reps in words: what a coach would see and what the score must say of it. The gates' verdicts too.
#include <doctest/doctest.h>

#include "support/journal_script.hpp"

using namespace breakstep;
using namespace breakstep::testing;

namespace {

const std::vector<AttackPhase> single{{Phase::lift, false, 110ms},
                                      {Phase::up, false, 170ms},
                                      {Phase::pull_back, false, 140ms},
                                      {Phase::drop, false, 130ms},
                                      {Phase::gap, false, 150ms}};
const std::vector<AttackPhase> feint{{Phase::lift, false, 200ms}};
constexpr Duration toe_off = 5s, up_begins = toe_off + 110ms, drop_begins = toe_off + 420ms,
                   touchdown = toe_off + 550ms, attack_ends = toe_off + 700ms, rep_ends = attack_ends + 500ms;

AttackChoice asked(Moment moment, Counter counter = Counter::front_hand, PadSet pads = 0) {
    AttackChoice choice;
    choice.moment = moment;
    choice.counter = counter;
    choice.pads = pads;
    return choice;
}

// One rep of a single kick; the athlete's part is added before it closes.
class OneRep {
  public:
    JournalScript script;
    explicit OneRep(const AttackChoice& choice, GatesOf gates = {}) {
        script.begin(gates);
        script.plan(0, 1s);
        script.open(RepId{0}, choice, single, toe_off, rep_ends);
        script.confirm(RepId{0}, single, toe_off);
    }
    OneRep& hit(Duration when, PadRole pad = PadRole::high_right, std::uint16_t peak = 500) {
        script.hit(when, pad, peak);
        return *this;
    }
    OneRep& near(Duration when) { return cross(when, GateRole::near_mark); }
    OneRep& far(Duration when) { return cross(when, GateRole::far_mark); }
    OneRep& back(Duration when) { return cross(when, GateRole::back_mark); }
    RepResult result() {
        script.close(RepId{0}, rep_ends);
        return Folded(script).score.reps().at(0);
    }
    Verdict verdict() { return result().verdict; }

  private:
    OneRep& cross(Duration when, GateRole gate) {
        script.cross(when, gate);
        return *this;
    }
};

RepResult of_feint(const std::vector<Duration>& far, const std::vector<Duration>& near,
                   const std::vector<Duration>& hits) {
    JournalScript script;
    script.begin();
    script.plan(0, 1s);
    AttackChoice choice;
    choice.kind = AttackKind::feint;
    script.open(RepId{0}, choice, feint, toe_off, toe_off + 700ms);
    script.confirm(RepId{0}, feint, toe_off);
    for (const Duration when : far) script.cross(when, GateRole::far_mark);
    for (const Duration when : near) script.cross(when, GateRole::near_mark);
    for (const Duration when : hits) script.hit(when);
    script.close(RepId{0}, toe_off + 700ms);
    return Folded(script).score.reps().at(0);
}

}  // namespace

TEST_CASE("a strike while the leg is up is a clash whatever was asked") {
    for (const Moment moment : {Moment::lift, Moment::gap, Moment::drop})
        CHECK(OneRep(asked(moment)).hit(up_begins + 50ms).verdict() == Verdict::clash);
}

TEST_CASE("a spin around a leg that is not held up is a clash") {
    CHECK(OneRep(asked(Moment::drop, Counter::spin)).hit(up_begins + 50ms).verdict() == Verdict::clash);
}

TEST_CASE("late for lift and that was the drop") {
    const RepResult result = OneRep(asked(Moment::lift)).hit(drop_begins + 60ms).result();
    CHECK(result.verdict == Verdict::late);
    CHECK(result.phase == Phase::drop);
    CHECK(result.latency == 480ms);
    CHECK(result.scored);
}

TEST_CASE("a lift met in the lead has a negative latency and its true phase is guard") {
    const RepResult result = OneRep(asked(Moment::lift)).hit(toe_off - 40ms).result();
    CHECK(result.verdict == Verdict::on_time);
    CHECK(result.phase == Phase::guard);
    CHECK(result.latency == -40ms);
}

TEST_CASE("the lift when the drop was asked is early") {
    CHECK(OneRep(asked(Moment::drop)).hit(toe_off + 50ms).verdict() == Verdict::early);
    CHECK(OneRep(asked(Moment::drop)).hit(toe_off - 50ms).verdict() == Verdict::early);
}

TEST_CASE("the right moment on the wrong pad") {
    const PadSet low = pad_bit(PadRole::low_left) | pad_bit(PadRole::low_right);
    CHECK(OneRep(asked(Moment::drop, Counter::front_leg, low)).hit(drop_begins, PadRole::high_left).verdict() ==
          Verdict::wrong_pad);
    CHECK(OneRep(asked(Moment::drop, Counter::front_leg, low)).hit(drop_begins, PadRole::low_left).verdict() ==
          Verdict::on_time);
}

TEST_CASE("only the first contact decides and later ones are kept") {
    const RepResult result =
        OneRep(asked(Moment::drop)).hit(up_begins + 20ms).hit(drop_begins + 20ms).hit(touchdown + 20ms).result();
    CHECK(result.verdict == Verdict::clash);
    CHECK(result.later_contacts == std::vector<Duration>{440ms, 570ms});
}

TEST_CASE("a strike felt by two pads is one contact with the first stamp and the strongest pad") {
    const RepResult result = OneRep(asked(Moment::drop, Counter::front_leg, pad_bit(PadRole::low_left)))
                                 .hit(drop_begins + 30ms, PadRole::high_left, 200)
                                 .hit(drop_begins + 40ms, PadRole::low_left, 700)
                                 .result();
    CHECK(result.verdict == Verdict::on_time);
    CHECK(result.pad == PadRole::low_left);
    CHECK(result.peak == 700);
    CHECK(result.latency == 30ms);
    CHECK(result.later_contacts.empty());

    // One ns more apart, or on the same pad, they are two.
    CHECK(OneRep(asked(Moment::drop))
              .hit(drop_begins, PadRole::high_left, 200)
              .hit(drop_begins + 10ms + 1ns, PadRole::low_left, 700)
              .result()
              .later_contacts.size() == 1);
    CHECK(OneRep(asked(Moment::drop)).hit(drop_begins).hit(drop_begins + 8ms).result().later_contacts.size() == 1);
}

TEST_CASE("commit is the last break of the near mark before contact") {
    const RepResult result = OneRep(asked(Moment::drop))
                                 .near(toe_off + 200ms)
                                 .near(drop_begins - 60ms)
                                 .hit(drop_begins + 90ms)
                                 .near(drop_begins + 300ms)
                                 .result();
    CHECK(result.commit == -60ms);
    CHECK(result.commit_from_onset == 360ms);
    CHECK_FALSE(result.already_in);

    const RepResult in = OneRep(asked(Moment::drop)).hit(drop_begins).near(drop_begins + 50ms).result();
    CHECK(in.already_in);
    CHECK_FALSE(in.commit);

    const RepResult no_gate = OneRep(asked(Moment::drop), {false, false, false}).hit(drop_begins).result();
    CHECK_FALSE(no_gate.already_in);
    CHECK_FALSE(no_gate.commit);
}

TEST_CASE("an onset of unknown uncertainty makes the latency's unknown") {
    JournalScript script;
    script.begin();
    script.plan(0, 1s);
    script.open(RepId{0}, asked(Moment::drop), single, toe_off, rep_ends);
    script.confirm(RepId{0}, single, toe_off, unknown_uncertainty, OnsetSource::screen);
    script.hit(drop_begins + 10ms);
    script.close(RepId{0}, rep_ends);
    const RepResult result = Folded(script).score.reps().at(0);
    CHECK(result.verdict == Verdict::on_time);
    CHECK(result.uncertainty == unknown_uncertainty);
    CHECK(result.source == OnsetSource::screen);
}

TEST_CASE("the lamp's onset stands over the sound's whichever is told first") {
    for (const bool lamp_first : {true, false}) {
        JournalScript script;
        script.begin();
        script.open(RepId{0}, asked(Moment::lift), single, toe_off, rep_ends);
        if (lamp_first) script.confirm(RepId{0}, single, toe_off);
        script.confirm(RepId{0}, single, toe_off + 8ms, 2ms, OnsetSource::sound);
        if (!lamp_first) script.confirm(RepId{0}, single, toe_off);
        script.hit(toe_off + 20ms);
        script.close(RepId{0}, rep_ends);
        const RepResult result = Folded(script).score.reps().at(0);
        CHECK(result.latency == 20ms);
        CHECK(result.source == OnsetSource::lamp);
    }
}

TEST_CASE("a reset's second lift has no lead and its windows are told apart") {
    std::vector<AttackPhase> reset = single;
    reset.insert(reset.end(), single.begin(), single.end());
    const Duration second = attack_ends, end = second + 700ms + 500ms;
    const auto judge = [&](Moment moment, Duration contact) {
        JournalScript script;
        script.begin();
        script.open(RepId{0}, asked(moment), reset, toe_off, end);
        script.confirm(RepId{0}, reset, toe_off);
        script.hit(contact);
        script.close(RepId{0}, end);
        return Folded(script).score.reps().at(0);
    };
    // In the first gap, a moment before the second lift: late for the first lift, not on time for the second.
    const RepResult before = judge(Moment::lift, second - 1ns);
    CHECK(before.verdict == Verdict::late);
    CHECK(before.phase == Phase::gap);
    CHECK(before.latency == 700ms - 1ns);
    const RepResult met = judge(Moment::lift, second + 30ms);
    CHECK(met.verdict == Verdict::on_time);
    CHECK(met.latency == 30ms);
    // The second gap is asked for as well as the first.
    CHECK(judge(Moment::gap, second + 560ms).latency == 10ms);
    CHECK(judge(Moment::gap, touchdown + 10ms).latency == 10ms);
    // Between two asked windows: from the last begun. Before both: from the first.
    CHECK(judge(Moment::drop, touchdown + 10ms).latency == 140ms);
    CHECK(judge(Moment::drop, toe_off + 10ms).latency == -410ms);
}

TEST_CASE("nothing struck and inside the near mark while the leg was up is got hit") {
    // In through the far mark and the near mark, and out only in the drop.
    CHECK(OneRep(asked(Moment::drop)).far(3s).near(toe_off + 50ms).near(drop_begins + 20ms).verdict() ==
          Verdict::got_hit);
    // Out one ns before the leg is up; a pass is short, so it was in long before.
    CHECK(OneRep(asked(Moment::drop)).far(3s).near(4s).near(up_begins).verdict() == Verdict::missed);
    CHECK(OneRep(asked(Moment::drop)).far(3s).near(4s).near(up_begins + 1ns).verdict() == Verdict::got_hit);
    // In as the leg comes down.
    CHECK(OneRep(asked(Moment::drop)).far(3s).near(drop_begins).verdict() == Verdict::missed);
    CHECK(OneRep(asked(Moment::drop)).far(3s).near(drop_begins - 1ns).verdict() == Verdict::got_hit);
}

TEST_CASE("got hit comes before gave ground") {
    CHECK(OneRep(asked(Moment::drop)).far(3s).near(4s).near(up_begins + 60ms).far(drop_begins).verdict() ==
          Verdict::got_hit);
}

TEST_CASE("beyond the far mark at touchdown gave ground") {
    // Between the marks, then back over the far mark in the kick.
    CHECK(OneRep(asked(Moment::drop)).near(2s).far(2400ms).far(3s).far(up_begins).verdict() == Verdict::gave_ground);
    CHECK(OneRep(asked(Moment::drop)).far(3s).near(3200ms).near(3600ms).far(touchdown).verdict() ==
          Verdict::gave_ground);
    // Only after touchdown, or back in time: a plain miss (with a leg, which needs no step).
    CHECK(OneRep(asked(Moment::drop, Counter::back_leg))
              .far(3s)
              .near(3200ms)
              .near(3600ms)
              .far(touchdown + 1ns)
              .verdict() == Verdict::missed);
    CHECK(OneRep(asked(Moment::drop, Counter::back_leg))
              .near(2s)
              .far(2400ms)
              .far(3s)
              .far(up_begins)
              .far(drop_begins)
              .verdict() == Verdict::missed);
    // Beyond the back mark is beyond the far one.
    CHECK(OneRep(asked(Moment::drop)).far(2s).far(2400ms).back(up_begins).verdict() == Verdict::gave_ground);
}

TEST_CASE("a hand that never came near is no step and a leg is missed") {
    CHECK(OneRep(asked(Moment::drop, Counter::front_hand)).verdict() == Verdict::no_step);
    CHECK(OneRep(asked(Moment::drop, Counter::back_hand)).verdict() == Verdict::no_step);
    for (const Counter counter : {Counter::front_leg, Counter::back_leg, Counter::spin})
        CHECK(OneRep(asked(Moment::drop, counter)).verdict() == Verdict::missed);
    // A step that found nothing is missed.
    CHECK(OneRep(asked(Moment::drop)).far(3s).near(drop_begins + 10ms).verdict() == Verdict::missed);
}

TEST_CASE("one who stands inside all along is hit and not short of a step") {
    JournalScript script;
    script.begin();
    script.plan(0, 1s);
    script.hit(900ms);  // the start strike proves it
    script.open(RepId{0}, asked(Moment::drop), single, toe_off, rep_ends);
    script.confirm(RepId{0}, single, toe_off);
    script.close(RepId{0}, rep_ends);
    CHECK(Folded(script).score.reps().at(0).verdict == Verdict::got_hit);
}

TEST_CASE("a rig without gates says no more than missed") {
    CHECK(OneRep(asked(Moment::drop), {false, false, false}).verdict() == Verdict::missed);
    // Without a far mark nobody gives ground, without a near mark nobody is hit.
    CHECK(OneRep(asked(Moment::drop, Counter::spin), {true, false, false}).verdict() == Verdict::missed);
    CHECK(OneRep(asked(Moment::drop), {false, true, false}).far(3s).verdict() == Verdict::missed);
}

TEST_CASE("a feint answered by nothing is held and by a step alone held but drawn") {
    const RepResult nothing = of_feint({}, {}, {});
    CHECK(nothing.verdict == Verdict::held);
    CHECK_FALSE(nothing.drawn);
    CHECK_FALSE(nothing.scored);
    CHECK_FALSE(nothing.contacted);

    const RepResult step = of_feint({3s}, {toe_off + 90ms}, {});
    CHECK(step.verdict == Verdict::held);
    CHECK(step.drawn);
    CHECK(step.commit_from_onset == 90ms);
    // Before it could be seen, a step is only a step; and a step out is no bite.
    CHECK_FALSE(of_feint({3s}, {toe_off - 101ms}, {}).drawn);
    CHECK(of_feint({3s}, {toe_off - 100ms}, {}).drawn);
    CHECK_FALSE(of_feint({3s}, {4s, toe_off + 90ms}, {}).drawn);
}

TEST_CASE("a strike before the feint does not excuse one that goes for it") {
    CHECK(of_feint({}, {}, {toe_off - 100ms - 1ns}).verdict == Verdict::held);
    CHECK(of_feint({}, {}, {toe_off - 100ms}).verdict == Verdict::took_the_feint);
    CHECK(of_feint({}, {}, {toe_off + 700ms - 1ns}).verdict == Verdict::took_the_feint);
    CHECK(of_feint({}, {}, {3s, toe_off + 50ms}).verdict == Verdict::took_the_feint);
}

TEST_CASE("a catch trial struck between its wait's begin and its close took the feint") {
    const auto judge = [](Duration contact) {
        JournalScript script;
        script.begin();
        script.plan(0, 1s);
        script.open_catch_trial(RepId{0}, 2s, 7s);
        script.hit(contact);
        script.close(RepId{0}, 7s);
        return Folded(script).score.reps().at(0);
    };
    CHECK(judge(2s - 1ns).verdict == Verdict::held);
    CHECK(judge(2s).verdict == Verdict::took_the_feint);
    CHECK(judge(7s - 1ns).verdict == Verdict::took_the_feint);
    CHECK(judge(7s).verdict == Verdict::held);
    const RepResult result = judge(3s);
    CHECK_FALSE(result.scored);
    CHECK(result.contacted);
    CHECK_FALSE(result.latency);
    CHECK(result.contact_from_onset == 1s);
}
