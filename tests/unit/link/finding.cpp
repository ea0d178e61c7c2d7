// Finding a rig, asking again for what was damaged, refusing what is none of ours.
#include "session_fixture.hpp"

namespace breakstep::test {
namespace {

TEST_CASE("a rig is found within a tenth of a second, with its channels and its state") {
    SessionFixture f;
    f.bench.rig.gate(f.bench.now(), 1, true);
    f.bench.plug();
    REQUIRE(f.bench.run_until(100ms, [&] { return f.bench.link.connected(); }));
    const auto found = f.bench.all_of<RigConnected>();
    REQUIRE(found.size() == 1);
    CHECK(found[0].board == BoardId{0xB0A4D});
    CHECK(found[0].boot == BootId{f.bench.rig.boot()});
    CHECK(found[0].gates_broken == 0b010);
    REQUIRE(found[0].channels.size() == 4 + 3 + 4 + 1);
    CHECK(found[0].channels[5].kind == ChannelKind::gate);
    CHECK(found[0].channels[5].role == static_cast<std::uint8_t>(GateRole::far_mark));
    CHECK(found[0].channels[5].bound == 10us);
    // What happened before the first meeting is not told.
    CHECK(f.bench.all_of<GateEdge>().empty());
}

TEST_CASE("the bound is under 0.5 ms within a second of the port's opening, and it is told") {
    SessionFixture f;
    f.bench.plug();
    REQUIRE(f.bench.run_until(1s, [&] { return !f.bench.all_of<ClockBound>().empty(); }));
    CHECK(f.bench.all_of<ClockBound>()[0].bound < 500us);
    CHECK(f.bench.link.bound() < 500us);
}

TEST_CASE("a rig that is switched on late is asked until it is there") {
    SessionFixture f;
    f.bench.rig.power_off();
    f.bench.plug();
    f.bench.run(3s);
    CHECK(f.bench.frames_to_rig >= 12);
    CHECK(f.bench.frames_to_rig <= 13);
    f.bench.rig.power_on(f.bench.now());
    CHECK(f.bench.run_until(400ms, [&] { return f.bench.link.connected(); }));
}

TEST_CASE("a channel or snapshot whose frame was damaged is asked for again") {
    for (const std::uint8_t type : {WIRE_HELLO, WIRE_CHANNEL, WIRE_SNAPSHOT}) {
        CAPTURE(int{type});
        SessionFixture f;
        f.bench.rig.due(f.bench.now());
        f.bench.damage_next(type);
        f.bench.plug();
        REQUIRE(f.bench.run_until(600ms, [&] { return f.bench.link.connected(); }));
        REQUIRE(f.bench.all_of<RigConnected>().size() == 1);
        CHECK(f.bench.all_of<RigConnected>()[0].channels.size() == 12);
    }
}

TEST_CASE("a snapshot from before an event is never told as the state at connecting") {
    // The first account loses a channel; a gate breaks; the second account is whole.
    SessionFixture f;
    f.bench.damage_next(WIRE_CHANNEL);
    f.bench.plug();
    f.bench.run(3ms);
    f.bench.rig.gate(f.bench.now(), 2, true);
    REQUIRE(f.bench.run_until(600ms, [&] { return f.bench.link.connected(); }));
    f.bench.run(100ms);
    const auto connected = f.bench.all_of<RigConnected>();
    REQUIRE(connected.size() == 1);
    const bool told_later = !f.bench.all_of<GateEdge>().empty();
    CHECK((connected[0].gates_broken == 0b100) != told_later);
}

TEST_CASE("a rig of another version is refused with both versions named, once, and left alone") {
    ModelRigSettings rig;
    rig.major = 2;
    rig.minor = 7;
    SessionFixture f({}, rig);
    f.bench.plug();
    f.bench.run(2s);
    const auto refused = f.bench.all_of<RigRefused>();
    REQUIRE(refused.size() == 1);
    CHECK(refused[0].error.kind == ErrorKind::incompatible);
    CHECK(refused[0].error.what.find("2.7") != std::string::npos);
    CHECK(refused[0].error.what.find("1.0") != std::string::npos);
    CHECK_FALSE(refused[0].error.to_do.empty());
    CHECK(f.bench.all_of<RigConnected>().empty());
    CHECK_FALSE(f.bench.rig.has_leave());
    // Its unasked hello comes on; nothing more is sent to it.
    CHECK(f.bench.frames_to_rig <= 2);
}

TEST_CASE("a hello of another version that is shorter than ours is understood as far as its version") {
    SessionFixture f;
    f.bench.rig.power_off();
    f.bench.plug();
    const std::uint8_t hello[] = {WIRE_HELLO, 3, 1, 42};
    f.bench.rig.send_payload(hello);
    f.bench.pump();
    f.bench.run(50ms);
    REQUIRE(f.bench.all_of<RigRefused>().size() == 1);
    CHECK(f.bench.all_of<RigRefused>()[0].error.what.find("3.1") != std::string::npos);
}

TEST_CASE("a newer minor version is taken, its unknown events keep their place in the sequence") {
    ModelRigSettings rig;
    rig.minor = 9;
    SessionFixture f({}, rig);
    f.connect();
    f.bench.rig.strike(f.bench.now(), 0, 100);
    wire_message strange{};
    strange.type = 0x1E;
    f.bench.rig.make(f.bench.now(), strange);
    f.bench.rig.make(f.bench.now(), strange);
    f.bench.pump();
    f.bench.run(500ms);
    CHECK(f.bench.all_of<PadHit>().size() == 1);
    // They need no keeping: acknowledged with what came before them.
    CHECK(f.bench.rig.acknowledged() == 3);
    f.bench.rig.strike(f.bench.now(), 1, 100);
    f.bench.pump();
    f.bench.run(500ms);
    REQUIRE(f.bench.all_of<PadHit>().size() == 2);
    CHECK(f.bench.all_of<PadHit>()[1].sequence == 4);
    REQUIRE(f.bench.all_of<EventSkipped>().size() == 2);
    CHECK(f.bench.all_of<EventSkipped>()[0].type == 0x1E);
    CHECK(f.bench.all_of<EventSkipped>()[0].reason == SkipReason::unknown_type);
    CHECK(f.bench.link.counters().skipped == 2);
    CHECK(f.bench.link.counters().asked_again == 0);
}

TEST_CASE("another board than the wanted one is refused") {
    LinkSettings settings;
    settings.board = BoardId{77};
    SessionFixture f(settings);
    f.bench.plug();
    f.bench.run(1s);
    CHECK(f.bench.all_of<RigRefused>().size() == 1);
    CHECK(f.bench.all_of<RigConnected>().empty());
}

TEST_CASE("a rig without pads is refused, unless gates alone are to be watched") {
    ModelRigSettings rig;
    rig.pads = 0;
    SessionFixture f({}, rig);
    f.bench.plug();
    f.bench.run(1s);
    CHECK(f.bench.all_of<RigRefused>().size() == 1);
    LinkSettings settings;
    settings.pads_needed = 0;
    SessionFixture g(settings, rig);
    g.connect();
}

TEST_CASE("the smallest rig, one pad and nothing else, is enough") {
    ModelRigSettings rig;
    rig.pads = 1;
    rig.gates = rig.lamps = rig.syncs = 0;
    SessionFixture f({}, rig);
    f.connect();
    f.bench.rig.strike(f.bench.now(), 0, 321);
    f.bench.pump();
    f.bench.run(50ms);
    CHECK(f.bench.all_of<PadHit>().size() == 1);
    CHECK(f.bench.link.order_lamps(f.bench.now(), f.bench.rig.time(f.bench.now() + 1s), 0b1111, 0b1) == 0);
}

}  // namespace
}  // namespace breakstep::test
