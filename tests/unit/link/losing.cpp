// Losing a rig, or an event, or its clock, and finding it again.
#include "session_fixture.hpp"

namespace breakstep::test {
namespace {

using Reasons = std::vector<VoidReason>;

TEST_CASE("a damaged last event is missed at the next ping and asked for") {
    SessionFixture f;
    f.connect();
    f.bench.run(3s);
    f.bench.damage_next(WIRE_PAD_HIT);
    f.bench.rig.strike(f.bench.now(), 2, 500);
    f.bench.pump();
    CHECK(f.bench.run_until(320ms, [&] { return f.bench.all_of<PadHit>().size() == 1; }));
    CHECK(f.bench.link.counters().asked_again == 1);
    CHECK(f.bench.link.counters().damaged == 1);
}

TEST_CASE("a reset while connected is a board reset, told before the new boot") {
    SessionFixture f;
    f.connect();
    const BootId first{f.bench.rig.boot()};
    f.bench.run(1s);
    f.bench.rig.power_on(f.bench.now());
    f.bench.pump();
    REQUIRE(f.bench.run_until(1s, [&] { return f.bench.all_of<RigConnected>().size() == 2; }));
    CHECK(f.losses() == Reasons{VoidReason::board_reset});
    CHECK(f.bench.link.counters().resets == 1);
    CHECK(f.bench.all_of<RigConnected>()[1].boot != first);
    // No time of the old boot can be converted any more.
    CHECK_FALSE(f.bench.link.host_time_from({first, 1s}).has_value());
    REQUIRE(f.bench.run_until(1s, [&] { return f.bench.link.connected(); }));
    CHECK(f.bench.link.target_time_from(f.bench.now())->at.boot() == BootId{f.bench.rig.boot()});
}

TEST_CASE("what the rig had told of and never sent is said to be lost when the board resets") {
    SessionFixture f;
    f.connect();
    f.bench.run(2s);
    f.bench.rig.strike(f.bench.now(), 0, 1);
    f.bench.pump();
    f.bench.run(20ms);
    // Two blows whose frames are damaged; a ping tells of them; then the board resets before it is asked.
    f.bench.set_damage(1);
    f.bench.rig.strike(f.bench.now(), 0, 2);
    f.bench.rig.strike(f.bench.now(), 0, 3);
    f.bench.pump();
    f.bench.run(5ms);
    f.bench.set_damage(0);
    wire_message snapshot{};
    snapshot.type = WIRE_SNAPSHOT;
    snapshot.as.snapshot.time = f.bench.rig.ticks(f.bench.now());
    snapshot.as.snapshot.newest = 3;
    // The first may be swallowed by a frame that lost its end.
    f.bench.rig.send(snapshot);
    f.bench.rig.send(snapshot);
    f.bench.pump();
    REQUIRE(f.bench.run_until(20ms, [&] { return f.bench.link.counters().asked_again > 0; }));
    f.bench.rig.power_on(f.bench.now());
    REQUIRE(f.bench.run_until(1s, [&] { return f.bench.all_of<RigConnected>().size() == 2; }));
    const auto lost = f.bench.all_of<EventsLost>();
    REQUIRE(lost.size() == 1);
    CHECK(lost[0].first == 2);
    CHECK(lost[0].last == 3);
    CHECK(f.bench.link.counters().lost == 2);
    // RigLost, EventsLost, RigConnected, in this order.
    std::vector<std::size_t> order;
    for (const LinkEvent& event : f.bench.events) {
        if (std::holds_alternative<RigLost>(event) || std::holds_alternative<EventsLost>(event) ||
            std::holds_alternative<RigConnected>(event)) {
            order.push_back(event.index());
        }
    }
    CHECK(order == std::vector<std::size_t>{0, 1, 2, 0});
}

TEST_CASE("a reset whose every hello is damaged shows in the ping replies") {
    SessionFixture f;
    f.connect();
    f.bench.run(1s);
    f.bench.rig.power_on(f.bench.now());
    f.bench.damage_next(WIRE_HELLO);
    f.bench.pump();
    REQUIRE(f.bench.run_until(400ms, [&] { return f.bench.all_of<RigConnected>().size() == 2; }));
    CHECK(f.losses() == Reasons{VoidReason::board_reset});
}

TEST_CASE("an unplugged rig that lived on goes on where it was, and tells what happened meanwhile") {
    SessionFixture f;
    f.connect();
    f.bench.rig.strike(f.bench.now(), 0, 10);
    f.bench.pump();
    f.bench.run(300ms);
    f.bench.unplug();
    CHECK(f.losses() == Reasons{VoidReason::link_lost});
    CHECK_FALSE(f.bench.link.connected());
    CHECK_FALSE(f.bench.link.next_due().has_value());
    f.bench.rig.strike(f.bench.now(), 1, 11);
    f.bench.run(5s);
    f.bench.rig.strike(f.bench.now(), 2, 12);
    f.bench.plug();
    REQUIRE(f.bench.run_until(300ms, [&] { return f.bench.all_of<PadHit>().size() == 3; }));
    // The clock was kept over the pause: converted at once.
    CHECK(f.bench.link.connected());
    CHECK(f.bench.all_of<RigConnected>().size() == 2);
    CHECK(f.bench.link.counters().resets == 0);
    CHECK(f.bench.all_of<PadHit>()[2].peak == 12);
}

TEST_CASE("what a full ring overwrote while the rig was away is said to be lost, the rest told") {
    SessionFixture f;
    f.connect();
    f.bench.unplug();
    for (std::uint16_t i = 1; i <= 50; ++i) f.bench.rig.strike(f.bench.now(), 0, i);
    f.bench.plug();
    f.bench.run(1s);
    const auto lost = f.bench.all_of<EventsLost>();
    REQUIRE(lost.size() >= 1);
    CHECK(lost.front().first == 1);
    CHECK(lost.back().last == 18);
    CHECK(f.bench.link.counters().lost == 18);
    const auto hits = f.bench.all_of<PadHit>();
    REQUIRE(hits.size() == 32);
    CHECK(hits.front().peak == 19);
    CHECK(hits.back().peak == 50);
    CHECK(f.bench.rig.acknowledged() == 50);
}

TEST_CASE("a line that falls silent is a lost link after a second, it is found again by itself") {
    SessionFixture f;
    f.connect();
    f.bench.run(2s);
    f.bench.set_silent(true);
    const HostTime silent_from = f.bench.now();
    REQUIRE(f.bench.run_until(2s, [&] { return !f.losses().empty(); }));
    CHECK(f.losses() == Reasons{VoidReason::link_lost});
    CHECK(f.bench.now() - silent_from >= 1s - 300ms);
    CHECK(f.bench.now() - silent_from <= 1100ms);
    f.bench.rig.strike(f.bench.now(), 3, 99);
    f.bench.pump();
    f.bench.run(1s);
    f.bench.set_silent(false);
    REQUIRE(f.bench.run_until(600ms, [&] { return f.bench.link.connected(); }));
    CHECK(f.bench.run_until(100ms, [&] { return f.bench.all_of<PadHit>().size() == 1; }));
}

TEST_CASE("lost replies alone do not lose the rig") {
    BenchSettings damaged;
    damaged.damage = 0.15;
    SessionFixture f({}, {}, damaged);
    f.bench.plug();
    REQUIRE(f.bench.run_until(10s, [&] { return f.bench.link.connected(); }));
    f.bench.run(600s);
    CHECK(f.losses().empty());
}

TEST_CASE("a host that was held up does not take its own sleep for the rig's silence") {
    SessionFixture f;
    f.connect();
    f.bench.run(2s);
    // The program did not run for three seconds: nothing was read and no ping sent. Its timer comes first.
    f.bench.link.due(f.bench.now() + 3s);
    std::vector<LinkEvent> told;
    f.bench.link.take(told);
    CHECK(told.empty());
}

TEST_CASE("a clock that jumps is told, the rig is greeted again and its clock fitted anew") {
    SessionFixture f;
    f.connect();
    f.bench.run(10s);
    f.bench.rig.jump(50ms);
    f.bench.rig.strike(f.bench.now(), 0, 5);
    f.bench.pump();
    REQUIRE(f.bench.run_until(1s, [&] { return !f.losses().empty(); }));
    CHECK(f.losses() == Reasons{VoidReason::clock_jump});
    REQUIRE(
        f.bench.run_until(1s, [&] { return f.bench.all_of<RigConnected>().size() == 2 && f.bench.link.connected(); }));
    CHECK(f.bench.link.counters().clock_jumps == 1);
    f.bench.run(2s);
    const auto told = f.bench.link.target_time_from(f.bench.now());
    REQUIRE(told.has_value());
    const Duration error = told->at - f.bench.rig.time(f.bench.now());
    CHECK(std::abs(error.count()) <= told->bound.count());
    CHECK(f.bench.all_of<PadHit>().size() == 1);
    CHECK(f.losses().size() == 1);
}

TEST_CASE("the bound is told when it leaves the limit, too") {
    LinkSettings settings;
    settings.cue_bound = 150us;
    SessionFixture f(settings);
    f.connect();
    f.bench.run(10s);
    // Under the limit and a quarter over it take turns.
    const auto told = f.bench.all_of<ClockBound>();
    REQUIRE(told.size() % 2 == 1);
    for (std::size_t i = 0; i < told.size(); ++i) {
        if (i % 2 == 0) CHECK(told[i].bound < 150us);
        if (i % 2 == 1) CHECK(told[i].bound >= 187500ns);
    }
    f.bench.unplug();
    f.bench.run(30s);
    f.bench.plug();
    f.bench.run(5s);
    // Said again after the rig was lost: nobody need remember it over the loss.
    REQUIRE(f.bench.all_of<ClockBound>().size() > told.size());
    CHECK(f.bench.all_of<ClockBound>()[told.size()].bound < 150us);
}

TEST_CASE("bytes on a closed port, and everything asked while no rig is there, do no harm") {
    Link link({}, 1);
    const std::uint8_t some[] = {1, 2, 0, 3};
    link.bytes(HostTime{1s}, some);
    link.due(HostTime{1s});
    link.request_counters(HostTime{1s});
    link.set_levels(HostTime{1s}, true);
    link.cancel_lamps(HostTime{1s});
    link.committed(HostTime{1s}, BootId{4}, 9);
    link.give_up(HostTime{1s});
    link.port_closed(HostTime{1s});
    CHECK(link.order_lamps(HostTime{1s}, {BootId{1}, 1s}, 15, 15) == 0);
    CHECK_FALSE(link.connected());
    CHECK_FALSE(link.complete_until().has_value());
    CHECK_FALSE(link.target_time_from(HostTime{1s}).has_value());
    CHECK_FALSE(link.host_time_from({BootId{1}, 1s}).has_value());
    CHECK(link.bound() == unknown_uncertainty);
    std::vector<LinkEvent> told;
    link.take(told);
    CHECK(told.empty());
}

TEST_CASE("events held behind a hole come out when the rig is given up, the hole said") {
    SessionFixture f;
    f.connect();
    f.bench.run(2s);
    f.bench.damage_next(WIRE_PAD_HIT);
    f.bench.rig.strike(f.bench.now(), 0, 1);
    f.bench.rig.strike(f.bench.now(), 0, 2);
    f.bench.pump();
    // The second has come and shown that the first is missing.
    REQUIRE(f.bench.run_until(20ms, [&] { return f.bench.link.counters().asked_again > 0; }));
    f.bench.unplug();
    CHECK(f.bench.all_of<PadHit>().empty());
    f.bench.link.give_up(f.bench.now());
    f.bench.pump();
    REQUIRE(f.bench.all_of<PadHit>().size() == 1);
    CHECK(f.bench.all_of<PadHit>()[0].peak == 2);
    REQUIRE(f.bench.all_of<EventsLost>().size() == 1);
    CHECK(f.bench.all_of<EventsLost>()[0].first == 1);
    CHECK(f.bench.all_of<EventsLost>()[0].last == 1);
}

}  // namespace
}  // namespace breakstep::test
