// Which rep a contact belongs to, what voids a rep, and that the order of arrival changes nothing.
#include <algorithm>

#include <doctest/doctest.h>

#include "core/random.hpp"
#include "support/journal_script.hpp"

using namespace breakstep;
using namespace breakstep::testing;

namespace {

const std::vector<AttackPhase> single{{Phase::lift, false, 110ms},
                                      {Phase::up, false, 170ms},
                                      {Phase::pull_back, false, 140ms},
                                      {Phase::drop, false, 130ms},
                                      {Phase::gap, false, 150ms}};
constexpr Duration attack_length = 700ms, after_attack = 500ms, hip = 420ms;

// A set of single kicks whose toe-offs are 3 s apart, the first at 5 s; reps close 1.2 s after toe-off.
constexpr Duration toe_off_of(int rep) { return 5s + rep * 3s; }
constexpr Duration end_of(int rep) { return toe_off_of(rep) + attack_length + after_attack; }

void open(JournalScript& script, int rep) {
    AttackChoice asked;
    asked.moment = Moment::drop;
    asked.counter = Counter::back_leg;
    script.open(RepId{rep}, asked, single, toe_off_of(rep), end_of(rep));
}
void confirm(JournalScript& script, int rep) { script.confirm(RepId{rep}, single, toe_off_of(rep)); }
void whole(JournalScript& script, int rep) {
    open(script, rep);
    confirm(script, rep);
}

// Where the gates don't matter there are none: after a contact they would rightly say that the athlete is still inside.
constexpr GatesOf no_gates{false, false, false};

JournalScript begun(GatesOf gates = {}) {
    JournalScript script;
    script.begin(gates);
    script.plan(0, 1s);
    return script;
}

}  // namespace

TEST_CASE("a contact in the 300 ms after a close belongs to the rep before and changes no verdict") {
    const auto fold = [](Duration second_hit) {
        JournalScript script = begun(no_gates);
        whole(script, 0);
        script.hit(toe_off_of(0) + hip + 10ms);
        script.close(RepId{0}, end_of(0));
        script.hit(second_hit);
        whole(script, 1);
        script.close(RepId{1}, end_of(1));
        return Folded(script);
    };
    const Folded inside = fold(end_of(0) + 300ms - 1ns);
    CHECK(inside.score.reps()[0].verdict == Verdict::on_time);
    CHECK(inside.score.reps()[0].later_contacts == std::vector<Duration>{1500ms - 1ns});
    CHECK(inside.score.reps()[1].verdict == Verdict::missed);
    CHECK_MESSAGE(inside.all<RepResult>().size() == 3, "the first rep's result is told anew");
    CHECK(inside.all<RepResult>()[1] == inside.score.reps()[0]);

    const Folded at_border = fold(end_of(0) + 300ms);
    CHECK(at_border.score.reps()[0].later_contacts.empty());
    CHECK(at_border.score.reps()[1].verdict == Verdict::early);
    CHECK(at_border.score.reps()[1].latency == end_of(0) + 300ms - toe_off_of(1) - hip);
    CHECK(at_border.all<RepResult>().size() == 2);

    // At the end itself it is no longer the rep's own, but still its later one.
    const Folded at_end = fold(end_of(0));
    CHECK(at_end.score.reps()[0].later_contacts == std::vector<Duration>{1200ms});
    CHECK(at_end.score.reps()[1].verdict == Verdict::missed);
}

TEST_CASE("a missed rep stays missed when the strike comes just after its close") {
    JournalScript script = begun();
    whole(script, 0);
    script.close(RepId{0}, end_of(0));
    script.hit(end_of(0) + 5ms);
    script.add(SessionEnded{SessionEnd::finished});
    const Folded folded(script);
    CHECK(folded.score.reps()[0].verdict == Verdict::missed);
    CHECK_FALSE(folded.score.reps()[0].contacted);
    CHECK(folded.score.reps()[0].later_contacts == std::vector<Duration>{1205ms});
}

TEST_CASE("a strike felt on both sides of a rep's end goes by its first stamp") {
    JournalScript script = begun();
    whole(script, 0);
    script.hit(end_of(0) - 4ms, PadRole::low_left, 100);
    script.hit(end_of(0) + 4ms, PadRole::low_right, 900);
    script.close(RepId{0}, end_of(0));
    script.add(SessionEnded{SessionEnd::finished});
    const RepResult result = Folded(script).score.reps()[0];
    CHECK(result.verdict == Verdict::late);
    CHECK(result.pad == PadRole::low_right);
    CHECK(result.later_contacts.empty());
}

TEST_CASE("the next rep may open before this one closes and stamps tell them apart") {
    JournalScript script = begun();
    whole(script, 0);
    script.hit(toe_off_of(0) + hip + 20ms);
    open(script, 1);
    script.hit(toe_off_of(1) + 200ms);
    confirm(script, 1);
    open(script, 2);
    script.close(RepId{0}, end_of(0));
    confirm(script, 2);
    script.close(RepId{1}, end_of(1));
    script.hit(toe_off_of(2) + hip + 30ms);
    script.close(RepId{2}, end_of(2));
    const Folded folded(script);
    REQUIRE(folded.score.reps().size() == 3);
    CHECK(folded.score.reps()[0].latency == 20ms);
    CHECK(folded.score.reps()[1].verdict == Verdict::clash);
    CHECK(folded.score.reps()[2].latency == 30ms);
}

TEST_CASE("what happens before a set's first wait answers no attack") {
    JournalScript script;
    script.begin(no_gates);
    script.hit(100ms);  // warming up
    script.hit(700ms);  // the strike that starts the set
    script.add(StartStruck{0, script.at(700ms)});
    script.cross(800ms, GateRole::near_mark);
    script.hit(1500ms);  // in the count
    script.plan(0, 3s);
    whole(script, 0);
    script.close(RepId{0}, end_of(0));
    const Folded folded(script);
    CHECK(folded.score.reps()[0].verdict == Verdict::missed);
    CHECK(folded.score.reps()[0].later_contacts.empty());
    CHECK_MESSAGE(folded.score.totals().stray_contacts == 2, "the start strike is none");
}

TEST_CASE("a contact at the plan's begin is early and one before it is stray") {
    for (const Duration before : {0ns, 1ns}) {
        JournalScript script;
        script.begin(no_gates);
        script.plan(0, 3s);
        script.hit(3s - before);
        whole(script, 0);
        script.close(RepId{0}, end_of(0));
        const Folded folded(script);
        CHECK(folded.score.reps()[0].verdict == (before == 0ns ? Verdict::early : Verdict::missed));
        CHECK(folded.score.totals().stray_contacts == (before == 0ns ? 0 : 1));
    }
}

TEST_CASE("a plan drawn again does not move the stretch of a rep that is already open") {
    JournalScript script = begun();
    whole(script, 0);
    script.hit(toe_off_of(0) - 2s);
    script.plan(0, end_of(0) + 80ms, true);
    script.close(RepId{0}, end_of(0));
    CHECK(Folded(script).score.reps()[0].verdict == Verdict::early);
}

TEST_CASE("the order of arrival changes nothing") {
    JournalScript script = begun();
    const std::size_t first = script.records.size();
    whole(script, 0);
    whole(script, 1);
    script.cross(2500ms, GateRole::far_mark);
    script.hit(toe_off_of(0) + hip + 12ms, PadRole::low_left, 300);
    script.hit(toe_off_of(0) + hip + 18ms, PadRole::low_right, 400);
    script.cross(toe_off_of(0) + hip - 80ms, GateRole::near_mark);
    script.cross(toe_off_of(0) + hip + 300ms, GateRole::near_mark);
    script.hit(toe_off_of(0) + hip + 500ms);
    script.hit(end_of(0) + 200ms);
    script.cross(toe_off_of(1) - 100ms, GateRole::near_mark);
    script.cross(toe_off_of(1) + 600ms, GateRole::near_mark);
    script.hit(toe_off_of(1) + 100ms);
    script.hit(toe_off_of(1) + 100ms, PadRole::high_left, 900);
    const std::size_t last = script.records.size();
    script.close(RepId{0}, end_of(0));
    script.close(RepId{1}, end_of(1));
    script.add(SessionEnded{SessionEnd::finished});
    const Folded in_order(script);
    REQUIRE(in_order.score.reps().size() == 2);
    CHECK(in_order.score.reps()[0].verdict == Verdict::on_time);
    CHECK(in_order.score.reps()[0].commit == -80ms);
    CHECK(in_order.score.reps()[0].later_contacts.size() == 2);
    CHECK(in_order.score.reps()[1].verdict == Verdict::early);
    CHECK(in_order.score.reps()[1].pad == PadRole::high_left);

    Random random(2024);
    for (int i = 0; i < 200; ++i) {
        std::vector<JournalRecord> shuffled = script.records;
        // The two openings stay before their phases; everything of the rig comes in any order around them.
        std::vector<JournalRecord> middle(shuffled.begin() + static_cast<std::ptrdiff_t>(first),
                                          shuffled.begin() + static_cast<std::ptrdiff_t>(last));
        random.shuffle(middle);
        std::stable_partition(middle.begin(), middle.end(), [](const JournalRecord& record) {
            return std::holds_alternative<RepOpened>(record.event);
        });
        std::copy(middle.begin(), middle.end(), shuffled.begin() + static_cast<std::ptrdiff_t>(first));
        const Folded folded(shuffled);
        CHECK(folded.score.reps() == in_order.score.reps());
        CHECK(folded.score.totals().home_share == in_order.score.totals().home_share);
    }
}

TEST_CASE("a coach's void lies over the measured verdict and can be taken back") {
    JournalScript script = begun();
    whole(script, 0);
    script.hit(toe_off_of(0) + hip + 10ms);
    script.close(RepId{0}, end_of(0));
    const RepResult measured = Folded(script).score.reps()[0];
    CHECK(measured.verdict == Verdict::on_time);

    script.void_rep(RepId{0}, VoidReason::coach);
    {
        const Folded folded(script);
        CHECK(folded.score.reps()[0].verdict == Verdict::void_rep);
        CHECK(folded.score.reps()[0].void_reason == VoidReason::coach);
        CHECK_FALSE(folded.score.reps()[0].scored);
        CHECK(folded.all<RepResult>().size() == 2);
        CHECK(folded.score.totals().voids == 1);
        CHECK(folded.score.totals().scored == 0);
        CHECK_FALSE(folded.score.totals().on_time_rate);
        CHECK_FALSE(folded.score.totals().constant_error_ms);
    }
    script.void_rep(RepId{0}, VoidReason::none);
    const Folded back(script);
    CHECK(back.score.reps()[0] == measured);
    CHECK(back.all<RepResult>().size() == 3);
    CHECK(back.score.totals().on_time_rate == 1.0);
}

TEST_CASE("a coach's void before the close waits for the verdict under it") {
    JournalScript script = begun();
    whole(script, 0);
    script.void_rep(RepId{0}, VoidReason::coach);
    script.hit(toe_off_of(0) + hip + 10ms);
    script.close(RepId{0}, end_of(0));
    CHECK(Folded(script).score.reps()[0].void_reason == VoidReason::coach);
    script.void_rep(RepId{0}, VoidReason::none);
    CHECK(Folded(script).score.reps()[0].verdict == Verdict::on_time);
}

TEST_CASE("taking back the coach's void leaves a measured one in place") {
    JournalScript script = begun();
    open(script, 0);
    script.void_rep(RepId{0}, VoidReason::bound_too_wide);
    script.close(RepId{0}, end_of(0));
    script.void_rep(RepId{0}, VoidReason::coach);
    CHECK(Folded(script).score.reps()[0].void_reason == VoidReason::coach);
    script.void_rep(RepId{0}, VoidReason::none);
    const Folded folded(script);
    CHECK(folded.score.reps()[0].verdict == Verdict::void_rep);
    CHECK(folded.score.reps()[0].void_reason == VoidReason::bound_too_wide);
}

TEST_CASE("every reason of the journal voids a rep before its close and after") {
    for (const VoidReason reason : {VoidReason::board_reset, VoidReason::link_lost, VoidReason::clock_jump,
                                    VoidReason::bound_too_wide, VoidReason::impossible_gates, VoidReason::coach})
        for (const bool after : {false, true}) {
            JournalScript script = begun();
            whole(script, 0);
            script.hit(toe_off_of(0) + hip + 10ms);
            if (!after) script.void_rep(RepId{0}, reason);
            script.close(RepId{0}, end_of(0));
            if (after) script.void_rep(RepId{0}, reason);
            const RepResult result = Folded(script).score.reps()[0];
            CHECK(result.verdict == Verdict::void_rep);
            CHECK(result.void_reason == reason);
            CHECK_FALSE(result.scored);
        }
}

TEST_CASE("a border that was never confirmed voids the rep") {
    for (std::size_t missing = 0; missing <= single.size(); ++missing) {
        JournalScript script = begun();
        whole(script, 0);
        std::erase_if(script.records, [&](const JournalRecord& record) {
            const auto* began = std::get_if<PhaseBegan>(&record.event);
            return began != nullptr && began->index == static_cast<std::int32_t>(missing);
        });
        script.hit(toe_off_of(0) + hip + 10ms);
        script.close(RepId{0}, end_of(0));
        const RepResult result = Folded(script).score.reps()[0];
        CHECK(result.verdict == Verdict::void_rep);
        CHECK(result.void_reason == VoidReason::link_lost);
    }
}

TEST_CASE("a reset of the board voids what was open and no two boots are ever compared") {
    JournalScript script = begun();
    whole(script, 0);
    script.hit(toe_off_of(0) + hip + 10ms);
    script.close(RepId{0}, end_of(0));
    open(script, 1);
    script.cross(toe_off_of(1) - 1s, GateRole::near_mark);
    const BootId old = script.boot;
    script.boot = BootId{78};
    script.connect({}, 100ms);
    // Conduct says the same, and the old boot's planned end means nothing now.
    script.void_rep(RepId{1}, VoidReason::board_reset);
    script.add(RepClosed{RepId{1}, TargetTime(old, end_of(1))});
    // A straggler of the old boot is not taken for one of the new.
    script.add(PadHit{TargetTime(old, 9s), 900, PadRole::low_left, 400, 0});
    script.plan(0, 1s, true);
    whole(script, 2);
    script.hit(toe_off_of(2) + hip + 30ms);
    script.close(RepId{2}, end_of(2));
    const Folded folded(script);
    REQUIRE(folded.score.reps().size() == 3);
    CHECK(folded.score.reps()[0].verdict == Verdict::on_time);
    CHECK(folded.score.reps()[1].void_reason == VoidReason::board_reset);
    CHECK(folded.score.reps()[2].latency == 30ms);
    CHECK(folded.all<RepResult>().size() == 3);
    CHECK(folded.score.totals().misplaced_events == 1);
}

TEST_CASE("lost events void every rep they can have fallen in and no other") {
    const auto fold = [](Duration last_before, Duration first_after) {
        JournalScript script = begun(no_gates);
        whole(script, 0);
        whole(script, 1);
        whole(script, 2);
        script.hit(toe_off_of(0) + hip + 10ms);
        script.close(RepId{0}, end_of(0));
        script.edge(last_before, GateRole::attack_line, false);
        script.add(EventsLost{script.boot, 40, 43});
        script.sequence = 44;
        script.edge(first_after, GateRole::attack_line, false);
        script.close(RepId{1}, end_of(1));
        script.hit(toe_off_of(2) + hip + 10ms);
        script.close(RepId{2}, end_of(2));
        return Folded(script);
    };
    const Folded inside = fold(toe_off_of(1), toe_off_of(1) + 50ms);
    CHECK(inside.score.reps()[0].verdict == Verdict::on_time);
    CHECK(inside.score.reps()[1].void_reason == VoidReason::link_lost);
    CHECK(inside.score.reps()[2].verdict == Verdict::on_time);
    CHECK(inside.score.totals().events_lost == 4);

    const Folded across = fold(toe_off_of(1), end_of(1) + 10ms);
    CHECK(across.score.reps()[1].void_reason == VoidReason::link_lost);
    CHECK(across.score.reps()[2].void_reason == VoidReason::link_lost);

    const Folded after = fold(end_of(1) + 100ms, end_of(1) + 200ms);
    CHECK(after.score.reps()[1].verdict == Verdict::missed);
    CHECK(after.score.reps()[2].void_reason == VoidReason::link_lost);
}

TEST_CASE("events lost with an earlier boot touch no rep of this one") {
    JournalScript script = begun();
    script.add(EventsLost{BootId{5}, 65'534, 1});
    whole(script, 0);
    script.hit(toe_off_of(0) + hip + 10ms);
    script.close(RepId{0}, end_of(0));
    const Folded folded(script);
    CHECK(folded.score.reps()[0].verdict == Verdict::on_time);
    CHECK_MESSAGE(folded.score.totals().events_lost == 4, "numbers wrap at 16 bits");
}

TEST_CASE("gates that no body can break void the reps they fall in") {
    SUBCASE("two breaks of one gate without a restore between") {
        JournalScript script = begun();
        whole(script, 0);
        script.edge(toe_off_of(0), GateRole::near_mark, true);
        script.close(RepId{0}, end_of(0));
        whole(script, 1);
        script.edge(toe_off_of(1), GateRole::near_mark, true);
        script.close(RepId{1}, end_of(1));
        const Folded folded(script);
        CHECK(folded.score.reps()[0].verdict == Verdict::missed);
        CHECK(folded.score.reps()[1].void_reason == VoidReason::impossible_gates);
    }
    SUBCASE("but not when the restore may have been lost or the link was gone") {
        for (const bool lost : {true, false}) {
            JournalScript script = begun();
            script.edge(2s, GateRole::near_mark, true);
            if (lost) script.add(EventsLost{script.boot, 1, 1});
            if (!lost) script.connect({}, 2100ms);
            script.sequence = 2;
            script.edge(2200ms, GateRole::near_mark, true);
            script.plan(0, 3s);
            whole(script, 0);
            script.close(RepId{0}, end_of(0));
            CHECK(Folded(script).score.reps()[0].verdict == Verdict::missed);
        }
    }
    SUBCASE("near and back mark within 50 ms of each other") {
        for (const Duration apart : {Duration(50ms), 50ms + 1ns}) {
            JournalScript script = begun();
            whole(script, 0);
            script.cross(toe_off_of(0), GateRole::back_mark);
            script.cross(toe_off_of(0) + apart, GateRole::near_mark);
            script.close(RepId{0}, end_of(0));
            const bool impossible = apart == 50ms;
            CHECK((Folded(script).score.reps()[0].void_reason == VoidReason::impossible_gates) == impossible);
        }
    }
}

TEST_CASE("a session that ends with reps open says that they are void") {
    JournalScript script = begun();
    open(script, 0);
    script.add(SessionEnded{SessionEnd::rig_gone});
    const Folded folded(script);
    REQUIRE(folded.score.reps().size() == 1);
    CHECK(folded.score.reps()[0].void_reason == VoidReason::link_lost);
}

TEST_CASE("after a jump of the clock the void rep's planned end takes nothing from the next") {
    JournalScript script = begun();
    open(script, 0);
    script.hit(5s);
    script.void_rep(RepId{0}, VoidReason::clock_jump);
    script.close(RepId{0}, end_of(2));  // far ahead
    script.plan(0, 5500ms, true);
    whole(script, 1);
    script.hit(toe_off_of(1) + hip + 10ms);
    script.close(RepId{1}, end_of(1));
    const Folded folded(script);
    CHECK(folded.score.reps()[0].void_reason == VoidReason::clock_jump);
    CHECK(folded.score.reps()[1].verdict == Verdict::on_time);
}

TEST_CASE("events that name no rep and times that can't be are counted and change nothing") {
    JournalScript script = begun();
    script.confirm(RepId{9}, {}, 1s);
    script.close(RepId{9}, 2s);
    script.void_rep(RepId{9}, VoidReason::coach);
    script.hit(Duration(INT64_MAX));
    script.hit(Duration(INT64_MIN));
    script.add(UnknownEvent{999, "from a newer version"});
    whole(script, 0);
    script.add(PhaseBegan{RepId{0}, 17, Phase::drop, script.at(5s), 0ns, OnsetSource::lamp});
    script.add(PhaseBegan{RepId{0}, -1, Phase::drop, script.at(5s), 0ns, OnsetSource::lamp});
    open(script, 0);
    script.hit(toe_off_of(0) + hip + 10ms);
    script.close(RepId{0}, end_of(0));
    const Folded folded(script);
    REQUIRE(folded.score.reps().size() == 1);
    CHECK(folded.score.reps()[0].verdict == Verdict::on_time);
    CHECK(folded.score.totals().misplaced_events == 8);
    CHECK(folded.score.totals().unknown_events == 1);
}

TEST_CASE("a flood of edges and hits before a rep changes no verdict") {
    JournalScript script = begun();
    for (int i = 0; i < 9000; ++i) script.edge(1s + i * 100us, GateRole::far_mark, i % 2 == 0);
    for (int i = 0; i < 6000; ++i) script.edge(1900ms + i * 100us, GateRole::hip, i % 2 == 0);
    whole(script, 0);
    script.cross(3s, GateRole::far_mark);
    script.cross(toe_off_of(0) + 200ms, GateRole::near_mark);
    script.close(RepId{0}, end_of(0));
    CHECK(Folded(script).score.reps()[0].verdict == Verdict::got_hit);

    JournalScript hits = begun();
    for (int i = 0; i < 5000; ++i) hits.hit(1s + i * 100us, static_cast<PadRole>(i % 4));
    whole(hits, 0);
    hits.close(RepId{0}, end_of(0));
    const Folded folded(hits);
    CHECK(folded.score.reps()[0].verdict == Verdict::early);
    CHECK(folded.score.reps()[0].contact_from_onset == 1s - toe_off_of(0));
}
