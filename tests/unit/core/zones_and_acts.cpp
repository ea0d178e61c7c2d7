// Where the athlete is and what it did there, as the gates tell it live.
#include <doctest/doctest.h>

#include "support/journal_script.hpp"

using namespace breakstep;
using namespace breakstep::testing;

namespace {

class Room {
  public:
    explicit Room(GatesOf gates = {}) { script.begin(gates); }
    Room& near(Duration when) { return cross(when, GateRole::near_mark); }
    Room& far(Duration when) { return cross(when, GateRole::far_mark); }
    Room& back(Duration when) { return cross(when, GateRole::back_mark); }
    Room& hit(Duration when) {
        script.hit(when);
        return *this;
    }
    // The zones that were told, in order.
    std::vector<Zone> zones() {
        std::vector<Zone> told;
        for (const ZoneChanged& change : Folded(script).all<ZoneChanged>()) told.push_back(change.zone);
        return told;
    }
    std::vector<Act> acts() {
        std::vector<Act> told;
        for (const ActSeen& act : Folded(script).all<ActSeen>()) told.push_back(act.act);
        return told;
    }
    JournalScript script;

  private:
    Room& cross(Duration when, GateRole gate) {
        script.cross(when, gate);
        return *this;
    }
};
using Zones = std::vector<Zone>;
using Acts = std::vector<Act>;

}  // namespace

TEST_CASE("nobody knows where the athlete is until something proves it") {
    CHECK(Room().zones().empty());
    CHECK_MESSAGE(Room().near(1s).zones().empty(), "across the near mark, but which way?");
    CHECK(Room().hit(1s).zones() == Zones{Zone::inside});
    CHECK_MESSAGE(Room().far(1s).zones().empty(), "outside the near mark, but on which side of the far one?");
    CHECK(Room().far(1s).near(2s).zones() == Zones{Zone::inside});
    CHECK(Room().near(1s).far(2s).zones() == Zones{Zone::beyond});
    CHECK_MESSAGE(Room().back(1s).zones() == Zones{Zone::beyond}, "beyond the far mark, on one side of the back one");
}

TEST_CASE("a pass flips the side and two legs are one pass") {
    CHECK(Room().hit(1s).near(2s).zones() == Zones{Zone::inside, Zone::between});
    CHECK(Room().hit(1s).near(2s).near(2249ms).zones() == Zones{Zone::inside, Zone::between});
    CHECK(Room().hit(1s).near(2s).near(2250ms).zones() == Zones{Zone::inside, Zone::between, Zone::inside});
    // Each break is measured from the one before it.
    CHECK(Room().hit(1s).near(2s).near(2200ms).near(2400ms).zones() == Zones{Zone::inside, Zone::between});
}

TEST_CASE("the second leg over the near mark does not undo the first over the far one") {
    CHECK(Room().hit(1s).near(2s).far(2100ms).near(2180ms).far(2300ms).zones() ==
          Zones{Zone::inside, Zone::between, Zone::beyond});
}

TEST_CASE("a missed break heals by what the next one proves") {
    // Beyond, and then the near mark: the far mark must have been passed.
    CHECK(Room().hit(1s).near(2s).far(3s).near(4s).zones() ==
          Zones{Zone::inside, Zone::between, Zone::beyond, Zone::inside});
    // Between, and then a contact.
    CHECK(Room().hit(1s).near(2s).hit(3s).zones() == Zones{Zone::inside, Zone::between, Zone::inside});
}

TEST_CASE("the room behind the back mark") {
    CHECK(Room().hit(1s).near(2s).far(3s).back(4s).back(5s).zones() ==
          Zones{Zone::inside, Zone::between, Zone::beyond, Zone::back, Zone::beyond});
}

TEST_CASE("without a far mark there is nothing beyond and without a near mark nothing inside") {
    CHECK(Room({true, false, false}).hit(1s).near(2s).near(3s).zones() ==
          Zones{Zone::inside, Zone::between, Zone::inside});
    CHECK(Room({false, true, false}).hit(1s).far(2s).far(3s).zones() == Zones{Zone::beyond, Zone::unknown});
    CHECK(Room({false, false, false}).hit(1s).zones().empty());
}

TEST_CASE("the rig's return and lost events leave the place unknown") {
    Room back_again;
    back_again.hit(1s);
    back_again.script.connect({}, 2s);
    CHECK(back_again.zones() == Zones{Zone::inside, Zone::unknown});

    Room lost;
    lost.hit(1s);
    lost.script.add(EventsLost{lost.script.boot, 1, 2});
    CHECK(lost.zones() == Zones{Zone::inside, Zone::unknown});

    Room reset;
    reset.hit(1s);
    reset.script.boot = BootId{78};
    reset.script.connect({}, 10ms);
    const auto changes = Folded(reset.script).all<ZoneChanged>();
    REQUIRE(changes.size() == 2);
    CHECK(changes[1].zone == Zone::unknown);
    CHECK(changes[1].at.boot() == BootId{78});
}

TEST_CASE("a hit told late does not put an athlete back inside who has left since") {
    CHECK(Room().hit(1s).near(2010ms).hit(2s).zones() == Zones{Zone::inside, Zone::between});
}

TEST_CASE("an entry is the first break of an inward pass of the near mark") {
    CHECK(Room().near(1s).acts().empty());
    CHECK(Room().far(1s).near(2s).near(2100ms).acts() == Acts{Act::entry});
    CHECK(Room().hit(1s).near(2s).near(3s).acts() == Acts{Act::entry});
    Room room;
    const auto acts = Folded(room.far(1s).near(2s).script).all<ActSeen>();
    REQUIRE(acts.size() == 1);
    CHECK(acts[0].at == room.script.at(2s));
    CHECK_MESSAGE(acts[0].sequence == 2, "the number of the break itself");
}

TEST_CASE("stop short is in over the far mark and out again within 1.5 s with the near mark whole") {
    // The back mark proves that the athlete is beyond the far one.
    const auto room = [] { return Room().back(1s); };
    CHECK(room().far(5s).far(6s).acts() == Acts{Act::stop_short});
    CHECK(room().far(5s).far(6500ms).acts() == Acts{Act::stop_short});
    CHECK(room().far(5s).far(6500ms + 1ns).acts().empty());
    CHECK(room().far(5s).near(5300ms).near(5600ms).far(5900ms).acts() == Acts{Act::entry});
}

TEST_CASE("ground given twice is two outward passes without an entry between") {
    const auto room = [] { return Room().hit(1s).near(2s); };
    CHECK(room().far(3s).acts().empty());
    CHECK(room().far(3s).back(4s).acts() == Acts{Act::ground_given_twice});
    CHECK(room().far(3s).far(5s).far(7s).acts() == Acts{Act::ground_given_twice});
    CHECK(room().far(3s).far(5s).near(6s).near(7s).far(8s).acts() == Acts{Act::entry});
    CHECK_MESSAGE(room().far(3s).back(4s).back(5s).far(7s).far(9s).acts() == Acts{Act::ground_given_twice},
                  "the next pair counts anew");
}

TEST_CASE("a step in that leaves the pace of those before it is a change of pace, and begins a new one") {
    const auto changes = [](const std::vector<Duration>& entries) {
        Room room;
        room.hit(1s).near(1500ms);  // out
        for (const Duration entry : entries) room.near(entry).near(entry + 300ms);
        std::vector<bool> told;
        for (const ActSeen& act : Folded(room.script).all<ActSeen>())
            if (act.act == Act::entry) told.push_back(act.changed_pace);
        return told;
    };
    using Told = std::vector<bool>;
    // Alike, alike, sooner; then the pace begins anew.
    CHECK(changes({3s, 4500ms, 6s, 6700ms, 7400ms}) == Told{false, false, false, true, false});
    CHECK(changes({3s, 4500ms, 6s, 8600ms}) == Told{false, false, false, true});
    CHECK_MESSAGE(changes({3s, 4500ms, 6s, 7400ms, 8900ms}) == Told(5, false), "always the same");
    CHECK_MESSAGE(changes({3s, 4s, 6s, 6700ms, 9s}) == Told(5, false), "no pace to change");
}

TEST_CASE("a hand in its gate is shown, and hidden when it was there for a while") {
    const auto acts = [](Duration held) {
        Room room;
        room.script.edge(2s, GateRole::hands, true);
        room.script.edge(2s + held, GateRole::hands, false);
        return room.acts();
    };
    CHECK(acts(400ms) == Acts{Act::hand_shown, Act::hand_hidden});
    CHECK(acts(200ms) == Acts{Act::hand_shown});
}
