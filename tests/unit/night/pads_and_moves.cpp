// What pads alone may ask for, and a set's records in another's session.
#include <doctest/doctest.h>

#include "hall/evening/moved_set.hpp"
#include "hall/evening/pass_on.hpp"

using namespace breakstep;

namespace {

constexpr BootId boot{7};
TargetTime at(Duration time) { return {boot, time}; }
PadHit hit(Duration time, PadRole pad = PadRole::low_left) { return {at(time), 1, pad, 500, 0, {}}; }
GateEdge gate(Duration time, GateRole role, bool broken = true) {
    GateEdge edge;
    edge.at = at(time);
    edge.gate = role;
    edge.broken = broken;
    return edge;
}

std::vector<JournalRecord> numbered(std::vector<JournalEvent> events) {
    std::vector<JournalRecord> journal;
    for (JournalEvent& event : events)
        journal.push_back(
            {static_cast<std::int64_t>(journal.size()), HostTime(Duration(journal.size())), std::move(event)});
    return journal;
}

}  // namespace

TEST_CASE("two low strikes and leaving behind pass the turn on") {
    PassOn pads;
    pads.take(hit(1s));
    pads.take(hit(2s, PadRole::low_right));
    CHECK(pads.take(gate(4s, GateRole::far_mark)));
}

TEST_CASE("without the second strike, too late, high or without leaving nothing is passed on") {
    PassOn pads;
    pads.take(hit(1s));
    SUBCASE("one strike") { CHECK_FALSE(pads.take(gate(2s, GateRole::back_mark))); }
    SUBCASE("the same blow felt twice") {
        pads.take(hit(1050ms, PadRole::low_right));
        CHECK_FALSE(pads.take(gate(2s, GateRole::back_mark)));
    }
    SUBCASE("too long between them") {
        pads.take(hit(2600ms));
        CHECK_FALSE(pads.take(gate(3s, GateRole::back_mark)));
    }
    SUBCASE("a high strike between them") {
        pads.take(hit(1500ms, PadRole::high_left));
        pads.take(hit(2s));
        CHECK_FALSE(pads.take(gate(3s, GateRole::back_mark)));
    }
    SUBCASE("left too late") {
        pads.take(hit(2s));
        CHECK_FALSE(pads.take(gate(5100ms, GateRole::back_mark)));
    }
    SUBCASE("another gate, or one that clears") {
        pads.take(hit(2s));
        CHECK_FALSE(pads.take(gate(3s, GateRole::near_mark)));
        CHECK_FALSE(pads.take(gate(3s, GateRole::far_mark, false)));
    }
    SUBCASE("another boot of the rig") {
        pads.take(hit(2s));
        GateEdge other = gate(3s, GateRole::far_mark);
        other.at = {BootId{8}, 3s};
        CHECK_FALSE(pads.take(other));
    }
}

TEST_CASE("the stretch of a set reaches from where its session went on to where it stood aside") {
    const auto journal = numbered({SessionBegan{}, StartStruck{0, at(1s)}, SetEnded{0, false}, SessionSuspended{},
                                   SessionResumed{}, StartStruck{1, at(9s)}, RepOpened{}, SetEnded{1, false},
                                   SessionSuspended{}, RepVoided{}, SessionResumed{}, SessionEnded{}});
    const auto stretch = last_stretch(journal);
    REQUIRE(stretch.size() == 5);
    CHECK(stretch.front().position == 4);
    CHECK(stretch.back().position == 8);
    CHECK(reps_in(stretch).size() == 1);
    SessionBegan began;
    began.session = SessionId{9};
    const auto moved = moved_session(began, stretch);
    REQUIRE(moved.size() == 5);
    CHECK(std::get<SessionBegan>(moved.front().event).session == SessionId{9});
    CHECK(std::holds_alternative<StartStruck>(moved[1].event));
    CHECK(std::holds_alternative<SessionEnded>(moved.back().event));
    for (std::size_t i = 0; i < moved.size(); ++i) CHECK(moved[i].position == static_cast<std::int64_t>(i));
    CHECK(last_stretch(numbered({SessionBegan{}, SessionSuspended{}})).empty());
    CHECK(moved_session(began, {}).empty());
}
