// A partner led to the edge, in a journal: from where, how soon it is answered, what counts as one visit.
#include <doctest/doctest.h>

#include "core/score/exchange.hpp"
#include "support/journal_script.hpp"

using namespace breakstep;
using namespace breakstep::testing;

namespace {

constexpr Uncertainty gate_bound = 20us;
/// Of a kick: its drop begins and ends so long after toe-off, and what follows is over.
constexpr Duration up = 120ms, drop = 520ms, down = 680ms, over = 930ms;

/// An exchange in which the partner is to be led to the edge, on a rig with every mark.
struct Exchange : JournalScript {
    explicit Exchange(bool with_near = true, bool known = true) {
        SessionBegan began;
        began.drill.name = "by-hand";
        began.drill.start = StartKind::free;
        began.drill.partner.source = AttackSource::partner;
        began.drill.asks.rung = RungAim::edge;
        began.drill.asks.edge_within = 1500ms;
        began.drill.attacks = {AttackChoice{}};
        add(began);
        greet(with_near);
        if (known) hit(500ms);  // the strike that starts the set: within the near mark
        plan(0, 1s);
    }
    void greet(bool with_near = true) {
        RigConnected rig{the_board, boot, at(0ms), 0, {}};
        for (std::uint8_t i = 0; i < 4; ++i) rig.channels.push_back({ChannelKind::pad, i, i, false, pad_bound});
        for (std::uint8_t i = with_near ? 0 : 1; i < gate_role_count; ++i)
            rig.channels.push_back({ChannelKind::gate, i, i, false, 10us});
        add(rig);
    }
    /// Out past the near mark: from then on the athlete stands between the marks.
    void outside(Duration when) { cross(when, GateRole::near_mark); }
    void inside(Duration when) { cross(when, GateRole::near_mark); }
    void edge(Duration when) { cross(when, GateRole::partner_back_mark); }
    /// A kick at `toe_off`, met at `contact` of the same clock, if at all.
    void kick(Duration toe_off, std::optional<Duration> contact, CameKind came = CameKind::single) {
        const RepId rep{next_};
        open(rep, AttackChoice{}, {}, toe_off, toe_off + 3s);
        add(LegExpected{rep, false});
        const auto seen = [&](Phase phase, Duration after) {
            add(PhaseSeen{rep, phase, at(toe_off + after), gate_bound, OnsetSource::gate});
        };
        seen(Phase::lift, 0ms);
        if (came == CameKind::single) {
            seen(Phase::up_or_pull_back, up);
            seen(Phase::drop, drop);
        }
        if (contact) hit(*contact);
        if (came == CameKind::single) seen(Phase::gap, down);
        seen(Phase::guard, over);
        add(RepClosed{rep, at(toe_off + over + 500ms), came, Impossible::none});
        ++next_;
    }
    void end_the_set() { add(SetEnded{0, false}); }

  private:
    std::int32_t next_ = 0;
};

scoring::EdgeCounts counts(const Folded& folded) {
    const auto counted = scoring::edge_counts(folded.score.exchange(), folded.score.reps());
    REQUIRE(counted.has_value());
    return *counted;
}

/// Led to the edge so long before the contact, which falls in the drop.
RepResult met_after(Duration since_edge, Duration toe_off = 5s) {
    Exchange script;
    script.outside(2s);
    const Duration contact = toe_off + drop + 100ms;
    script.edge(contact - since_edge);
    script.kick(toe_off, contact);
    const Folded folded(script);
    CHECK(folded.score.totals().misplaced_events == 0);
    REQUIRE(folded.score.reps().size() == 1);
    CHECK(folded.score.reps().front().verdict == Verdict::on_time);
    return folded.score.reps().front();
}

}  // namespace

TEST_CASE("a partner led to the edge and met in time is done, to the nanosecond of the time that is given") {
    for (const Duration since : {Duration(100ms), Duration(700ms), Duration(1500ms)}) {
        CAPTURE(since.count());
        const RepResult met = met_after(since);
        CHECK(met.at_edge == AtEdge::led);
        CHECK(met.edge_to_contact == since);
        CHECK(met.rung_hit == true);
    }
    const RepResult late = met_after(1500ms + 1ns);
    CHECK(late.at_edge == AtEdge::led);
    CHECK(late.edge_to_contact == 1500ms + 1ns);
    CHECK(late.rung_hit == false);
}

TEST_CASE("an attack that comes later than the time that is given comes from elsewhere") {
    // The lift at 620 ms before the contact.
    CHECK(met_after(1500ms + 620ms).at_edge == AtEdge::led);
    const RepResult elsewhere = met_after(1500ms + 620ms + 1ns);
    CHECK(elsewhere.at_edge == AtEdge::elsewhere);
    CHECK(elsewhere.edge_to_contact == std::nullopt);
    CHECK(elsewhere.rung_hit == false);
}

TEST_CASE("who stands inside the near mark as the partner gets there has crowded them, and led nobody") {
    Exchange script;
    script.outside(2s);
    script.inside(4s);
    script.edge(4300ms);
    script.kick(4800ms, 4800ms + drop + 100ms);
    const Folded folded(script);
    const RepResult& rep = folded.score.reps().front();
    CHECK(rep.verdict == Verdict::on_time);
    CHECK(rep.at_edge == AtEdge::crowded);
    CHECK(rep.rung_hit == false);
    CHECK(counts(folded) == scoring::EdgeCounts{0, 1, 0, 0, 0});
}

TEST_CASE("who has gone out again before the partner gets there has led them, in again to answer or not") {
    Exchange script;
    script.outside(2s);
    script.inside(3s);
    script.inside(3400ms);  // out
    script.edge(3500ms);
    script.inside(4300ms);
    script.kick(3900ms, 3900ms + drop + 50ms);
    const Folded folded(script);
    CHECK(folded.score.reps().front().at_edge == AtEdge::led);
    CHECK(folded.score.reps().front().rung_hit == true);
    CHECK(counts(folded) == scoring::EdgeCounts{1, 0, 0, 1, 1});
}

TEST_CASE("beyond the far mark is outside the near one too") {
    Exchange script;
    script.outside(2s);
    script.cross(2600ms, GateRole::far_mark);
    script.edge(4200ms);
    script.kick(4600ms, 4600ms + drop + 50ms);
    CHECK(Folded(script).score.reps().front().at_edge == AtEdge::led);
}

TEST_CASE("where the athlete stood is not known: nothing is claimed") {
    bool near = true;
    SUBCASE("nothing has told it yet") {}
    SUBCASE("there is no near mark") { near = false; }
    Exchange script(near, false);
    script.edge(4200ms);
    script.kick(4600ms, 4600ms + drop + 50ms);
    const Folded folded(script);
    CHECK(folded.score.reps().front().verdict == Verdict::on_time);
    CHECK(folded.score.reps().front().at_edge == AtEdge::unknown);
    CHECK(folded.score.reps().front().rung_hit == false);
    CHECK(counts(folded) == scoring::EdgeCounts{0, 0, 1, 0, 0});
}

TEST_CASE("after a hole in what the rig told nobody knows where the athlete is") {
    Exchange script;
    script.outside(2s);
    script.add(EventsLost{script.boot, script.sequence, script.sequence});
    ++script.sequence;
    script.cross(3s, GateRole::attack_line);
    // The hole lies in this one's wait, which makes it void; it lies before the next one's.
    script.kick(3600ms, std::nullopt);
    script.edge(6200ms);
    script.kick(6600ms, 6600ms + drop + 50ms);
    const Folded folded(script);
    REQUIRE(folded.score.reps().size() == 2);
    CHECK(folded.score.reps().front().verdict == Verdict::void_rep);
    CHECK(folded.score.reps().back().at_edge == AtEdge::unknown);
    CHECK(counts(folded) == scoring::EdgeCounts{0, 0, 1, 0, 0});
}

TEST_CASE("another boot of the rig knows nothing of who was where") {
    Exchange script;
    script.outside(2s);
    script.edge(4200ms);
    script.boot = BootId{78};
    script.sequence = 0;
    script.greet();
    script.plan(0, 1s, true);
    script.kick(4600ms, 4600ms + drop + 50ms);
    const Folded folded(script);
    CHECK(folded.score.reps().front().at_edge == AtEdge::elsewhere);
}

TEST_CASE("passes under 250 ms apart are one, and whoever steps in and out of the beam is there once") {
    const auto led_by = [](const std::vector<Duration>& breaks) {
        Exchange script;
        script.outside(2s);
        for (const Duration at : breaks) script.edge(3s + at);
        script.end_the_set();
        return counts(Folded(script)).led;
    };
    CHECK(led_by({0ms, 249ms}) == 1);
    CHECK(led_by({0ms, 100ms, 300ms, 500ms}) == 1);
    CHECK(led_by({0ms, 600ms, 1200ms}) == 1);
    CHECK(led_by({0ms, 1500ms}) == 1);
    CHECK(led_by({0ms, 1500ms + 1ns}) == 2);
    CHECK(led_by({0ms, 2s, 4s}) == 3);
}

TEST_CASE("the time runs from the first foot in the beam, and one visit is one attack's") {
    Exchange script;
    script.outside(2s);
    script.edge(4s);
    script.edge(4900ms);
    script.kick(4950ms, 4950ms + drop + 100ms);  // 1.57 s after the first
    script.kick(5200ms + over + 200ms, std::nullopt);
    const Folded folded(script);
    REQUIRE(folded.score.reps().size() == 2);
    CHECK(folded.score.reps()[0].edge_to_contact == 950ms + drop + 100ms);
    CHECK(folded.score.reps()[0].rung_hit == false);
    CHECK(folded.score.reps()[1].at_edge == AtEdge::elsewhere);
    CHECK(counts(folded) == scoring::EdgeCounts{1, 0, 0, 1, 0});
}

TEST_CASE("led there while the leg is up already: the time runs from there, after the contact it is of the next") {
    Exchange script;
    script.outside(2s);
    script.edge(4100ms);
    script.kick(4s, 4s + drop + 50ms);
    script.edge(7s);
    script.kick(6200ms, 6200ms + drop + 100ms);
    const Folded folded(script);
    CHECK(folded.score.reps()[0].edge_to_contact == 470ms);
    CHECK(folded.score.reps()[0].rung_hit == true);
    CHECK(folded.score.reps()[1].at_edge == AtEdge::elsewhere);
}

TEST_CASE("a clash, a late strike and no strike at the edge are not done, a feint there asks for nothing") {
    for (const std::optional<Duration> contact :
         {std::optional(up + 50ms), std::optional(down + 50ms), std::optional<Duration>()}) {
        Exchange script;
        script.outside(2s);
        script.edge(4s);
        script.kick(4300ms, contact ? std::optional(4300ms + *contact) : std::nullopt);
        const Folded folded(script);
        CHECK(folded.score.reps().front().at_edge == AtEdge::led);
        CHECK(folded.score.reps().front().rung_hit == false);
        CHECK(counts(folded) == scoring::EdgeCounts{1, 0, 0, 1, 0});
    }
    Exchange script;
    script.outside(2s);
    script.edge(4s);
    script.kick(4300ms, std::nullopt, CameKind::feint);
    const Folded folded(script);
    CHECK(folded.score.reps().front().verdict == Verdict::held);
    CHECK(folded.score.reps().front().rung_hit == std::nullopt);
    CHECK(counts(folded) == scoring::EdgeCounts{1, 0, 0, 0, 0});
}

TEST_CASE("what happens in a rest leads nobody, what a set ends with counts") {
    Exchange script;
    script.outside(2s);
    script.edge(5s);
    script.end_the_set();
    script.edge(20s);
    script.plan(1, 30s);
    script.edge(31s);
    script.kick(31400ms, 31400ms + drop + 50ms);
    const Folded folded(script);
    CHECK(counts(folded) == scoring::EdgeCounts{2, 0, 0, 1, 1});
}

TEST_CASE("a coach's void takes an answer back, and gives it back") {
    Exchange script;
    script.outside(2s);
    script.edge(4s);
    script.kick(4300ms, 4300ms + drop + 50ms);
    script.void_rep(RepId{0}, VoidReason::coach);
    CHECK(counts(Folded(script)) == scoring::EdgeCounts{1, 0, 0, 0, 0});
    script.void_rep(RepId{0}, VoidReason::none);
    CHECK(counts(Folded(script)) == scoring::EdgeCounts{1, 0, 0, 1, 1});
}

TEST_CASE("edges may arrive a little out of order, as pads hold theirs back: nothing changes") {
    Exchange script;
    script.outside(2s);
    script.inside(4s);
    script.edge(4005ms);  // 5 ms after the athlete was in, told before
    std::swap(script.records[script.records.size() - 4], script.records[script.records.size() - 2]);
    std::swap(script.records[script.records.size() - 3], script.records[script.records.size() - 1]);
    script.kick(4400ms, 4400ms + drop + 50ms);
    CHECK(Folded(script).score.reps().front().at_edge == AtEdge::crowded);
}

TEST_CASE("no drill but one of the edge counts any of it") {
    Exchange script;
    std::get<SessionBegan>(script.records.front().event).drill.asks.rung = RungAim::answer;
    script.outside(2s);
    script.edge(4s);
    script.kick(4300ms, 4300ms + drop + 50ms);
    const Folded folded(script);
    CHECK(folded.score.reps().front().at_edge == AtEdge::not_asked);
    CHECK(folded.score.reps().front().rung_hit == std::nullopt);
    CHECK_FALSE(scoring::edge_counts(folded.score.exchange(), folded.score.reps()).has_value());
}
