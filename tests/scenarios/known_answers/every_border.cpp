// Every attack kind, asked moment and counter, with the first contact at every border of every phase and window: one ns
// before it, at it, and one ns before the next. What is expected comes from the list of verdicts said again in the
// plainest way there is: time cut into labelled slices, looked up one after another. It shares no code with the score.
#include <set>
#include <string>

#include <doctest/doctest.h>

#include "support/journal_script.hpp"

using namespace breakstep;
using namespace breakstep::testing;

namespace {

// Odd lengths, so that no border falls on a round number.
constexpr Duration lift_length = 110'000'003ns, up_length = 170'000'007ns, back_length = 140'000'009ns,
                   drop_length = 130'000'001ns, gap_length = 150'000'011ns, held_length = 400'000'017ns,
                   hands_length = 300'000'013ns, feint_length = 200'000'019ns;
constexpr Duration onset = 5s, lead = 100ms, after_attack = 500ms;

const AttackPhase lift{Phase::lift, false, lift_length}, up{Phase::up, false, up_length},
    back{Phase::pull_back, false, back_length}, drop{Phase::drop, false, drop_length},
    gap{Phase::gap, false, gap_length}, held{Phase::up, true, held_length}, hands{Phase::hands, false, hands_length},
    feint{Phase::lift, false, feint_length};

struct Case {
    AttackKind kind;
    std::vector<AttackPhase> phases;
};
const std::vector<Case>& attacks() {
    static const std::vector<Case> all{
        {AttackKind::single, {lift, up, back, drop, gap}},
        {AttackKind::rebound, {lift, up, back, up, back, drop, gap}},
        {AttackKind::rebound, {lift, up, back, up, back, up, back, up, back, up, back, drop, gap}},
        {AttackKind::carry, {lift, held, up, back, drop, gap}},
        {AttackKind::reset, {lift, up, back, drop, gap, lift, up, back, drop, gap}},
        {AttackKind::leg_to_hands, {lift, up, back, drop, gap, hands}},
        {AttackKind::feint, {feint}}};
    return all;
}

struct Slice {
    Duration begin, end;
    std::string label;  // "before", "lift", "up", "held", "pull-back", "drop", "gap", "hands", "after"
    std::string phase;  // the true phase
};

std::vector<Slice> slices_of(const Case& attack) {
    std::vector<Slice> slices{{0ns, onset - lead, "before", "guard"}, {onset - lead, onset, "lift", "guard"}};
    Duration border = onset;
    for (const AttackPhase& phase : attack.phases) {
        const std::string name(word(phase.phase));
        slices.push_back({border, border + phase.length, phase.held ? "held" : name, name});
        border += phase.length;
    }
    slices.push_back({border, border + after_attack, "after", "guard"});
    return slices;
}

struct Expected {
    std::string verdict, phase;
    bool contacted = false;
};

Expected expect(const Case& attack, const std::vector<Slice>& slices, std::size_t struck, const std::string& moment,
                const std::string& counter, bool right_pad) {
    const std::string& label = slices[struck].label;
    Expected expected{"", slices[struck].phase, label != "before"};
    if (attack.kind == AttackKind::feint) {
        expected.verdict = label == "before" ? "held" : "took the feint";
        return expected;
    }
    bool asked_has_begun = false;
    for (std::size_t i = 0; i <= struck; ++i) asked_has_begun = asked_has_begun || slices[i].label == moment;
    if (label == "before")
        expected.verdict = "early";
    else if (label == "held" && counter == "spin")
        expected.verdict = "around";
    else if (label == "up" || label == "held" || label == "pull-back" || label == "hands")
        expected.verdict = "clash";
    else if (label == moment)
        expected.verdict = right_pad ? "on time" : "wrong pad";
    else if (label == "after")
        expected.verdict = "late";
    else
        expected.verdict = asked_has_begun ? "late" : "early";
    return expected;
}

// From where latency runs: the asked moment's phase that holds the contact (the lead is the first lift's), else the
// last begun before it, else the first. Around: the held up. None: the attack has no such moment.
std::optional<Duration> latency_zero(const std::vector<Slice>& slices, std::size_t struck, const std::string& moment,
                                     const std::string& verdict) {
    if (verdict == "around") return slices[struck].begin;
    std::optional<Duration> zero;
    for (std::size_t i = 2; i < slices.size(); ++i) {
        if (slices[i].label != moment) continue;
        if (!zero || i <= struck) zero = slices[i].begin;
    }
    return zero;
}

RepResult fold_one(const Case& attack, const AttackChoice& asked, Duration contact, PadRole pad) {
    JournalScript script;
    script.begin({}, lead);
    script.plan(0, 1s);
    const Duration end = onset + length_of(attack.phases) + after_attack;
    script.open(RepId{0}, asked, attack.phases, onset, end);
    script.confirm(RepId{0}, attack.phases, onset);
    script.hit(contact, pad);
    script.close(RepId{0}, end);
    const Folded folded(script);
    REQUIRE(folded.score.reps().size() == 1);
    REQUIRE(folded.all<RepResult>().size() == 1);
    CHECK(folded.all<RepResult>().front() == folded.score.reps().front());
    return folded.score.reps().front();
}

void check_contact(const Case& attack, const AttackChoice& asked, Duration contact, PadRole pad,
                   std::set<Verdict>& reached) {
    const std::vector<Slice> slices = slices_of(attack);
    std::size_t struck = 0;
    while (slices[struck].end <= contact) ++struck;
    const std::string moment(word(asked.moment)), counter(word(asked.counter));
    const bool right_pad = asked.pads == 0 || (asked.pads & pad_bit(pad)) != 0;
    const Expected expected = expect(attack, slices, struck, moment, counter, right_pad);

    const RepResult result = fold_one(attack, asked, contact, pad);
    CAPTURE(word(attack.kind));
    CAPTURE(moment);
    CAPTURE(counter);
    CAPTURE(slices[struck].label);
    CAPTURE((contact - slices[struck].begin).count());
    CHECK(std::string(word(result.verdict)) == expected.verdict);
    REQUIRE(result.phase);
    CHECK(std::string(word(*result.phase)) == expected.phase);
    CHECK(result.scored == (attack.kind != AttackKind::feint));
    CHECK(result.contacted == expected.contacted);
    CHECK(result.contact_from_onset == contact - onset);
    const auto zero = latency_zero(slices, struck, moment, expected.verdict);
    CHECK(result.latency.has_value() == zero.has_value());
    if (zero) CHECK(*result.latency == contact - *zero);
    if (zero) CHECK(result.uncertainty == pad_bound + onset_uncertainty);
    CHECK(result.already_in);
    CHECK_FALSE(result.commit);
    reached.insert(result.verdict);
}

}  // namespace

TEST_CASE("a first contact at every border of every phase and window has the verdict of the list") {
    std::set<Verdict> reached;
    int cases = 0;
    for (const Case& attack : attacks()) {
        const std::vector<Slice> slices = slices_of(attack);
        for (int moment = 0; moment < 3; ++moment)
            for (int counter = 0; counter < 5; ++counter)
                for (const PadSet pads : {PadSet{0}, pad_bit(PadRole::low_left), pad_bit(PadRole::high_right)}) {
                    AttackChoice asked;
                    asked.kind = attack.kind;
                    asked.moment = static_cast<Moment>(moment);
                    asked.counter = static_cast<Counter>(counter);
                    asked.pads = pads;
                    for (std::size_t i = 0; i < slices.size(); ++i) {
                        // The first slice begins with the plan, long before.
                        const Duration begin = i == 0 ? 1s : slices[i].begin;
                        for (const Duration contact : {begin, begin + 1ns, slices[i].end - 1ns}) {
                            check_contact(attack, asked, contact, PadRole::high_right, reached);
                            ++cases;
                        }
                    }
                }
    }
    MESSAGE("contacts judged: ", cases);
    for (const Verdict verdict : {Verdict::on_time, Verdict::around, Verdict::clash, Verdict::early, Verdict::late,
                                  Verdict::wrong_pad, Verdict::held, Verdict::took_the_feint})
        CHECK_MESSAGE(reached.count(verdict) == 1, word(verdict));
}

TEST_CASE("a contact at the very end of a rep is no contact of it") {
    for (const Case& attack : attacks()) {
        AttackChoice asked;
        asked.kind = attack.kind;
        const Duration end = onset + length_of(attack.phases) + after_attack;
        const RepResult result = fold_one(attack, asked, end, PadRole::high_right);
        CAPTURE(word(attack.kind));
        CHECK_FALSE(result.phase);
        CHECK_FALSE(result.latency);
        CHECK_FALSE(result.contacted);
        // Nothing told where the athlete is, and no near mark was broken.
        CHECK(result.verdict == (attack.kind == AttackKind::feint ? Verdict::held : Verdict::no_step));
    }
}

TEST_CASE("the error is the distance to the middle of the window that the contact is measured by") {
    const Case& single = attacks().front();
    AttackChoice asked;
    asked.kind = AttackKind::single;
    asked.moment = Moment::lift;
    // The lift's window is [toe-off - 100 ms, toe-off + 110.000003 ms): its middle 5.0000015 ms after toe-off, whole
    // ns.
    CHECK(fold_one(single, asked, onset, PadRole::low_left).error == -5'000'001ns);
    asked.moment = Moment::drop;
    const Duration hip = onset + lift_length + up_length + back_length;
    CHECK(fold_one(single, asked, hip + 65ms, PadRole::low_left).error == 0ns);
    CHECK(fold_one(single, asked, hip + 165ms, PadRole::low_left).error == 100ms);
    // Around is measured by the held up.
    const Case carry = attacks()[3];
    asked.kind = AttackKind::carry;
    asked.counter = Counter::spin;
    CHECK(fold_one(carry, asked, onset + lift_length + 210ms, PadRole::low_left).error == 9'999'992ns);
}
