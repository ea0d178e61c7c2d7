// The simulated rig's greeting and events against firmware-protocol/PROTOCOL.md, whose section is named beside each
// check.
#include <set>
#include <utility>

#include "rig_host.hpp"

using namespace breakstep;
using namespace breakstep::testing;

namespace {

RigSettings steady_gates() {
    RigSettings settings;
    settings.bounce = 0;
    return settings;
}

std::vector<std::uint16_t> sequences(const std::vector<wire_message>& messages) {
    std::vector<std::uint16_t> numbers;
    for (const wire_message& message : messages) numbers.push_back(message.sequence);
    return numbers;
}

std::vector<std::uint8_t> payload(const wire_message& message) {
    std::vector<std::uint8_t> bytes(WIRE_PAYLOAD_MAX);
    bytes.resize(wire_encode_payload(&message, bytes.data()));
    return bytes;
}

}  // namespace

TEST_CASE("a booted rig greets every 500 ms until it is acknowledged, each time with its channels and a snapshot") {
    RigHost host;
    host.run_to(1700ms);
    const auto messages = host.take();
    std::size_t hellos = 0;
    for (const wire_message& message : messages) hellos += message.type == WIRE_HELLO ? 1 : 0;
    CHECK(hellos == 4);  // PROTOCOL.md section 5: at 0, 500, 1000, 1500 ms

    const wire_message& hello = messages.front();
    REQUIRE(hello.type == WIRE_HELLO);
    CHECK(hello.as.hello.version_major == WIRE_VERSION_MAJOR);
    CHECK(hello.as.hello.boot == host.boot_id());
    CHECK(hello.as.hello.boot != 0);
    CHECK(hello.as.hello.newest == 0);
    CHECK(hello.as.hello.oldest_kept == 1);
    CHECK(hello.as.hello.pads == 4);
    CHECK(hello.as.hello.gates == 6);
    CHECK(hello.as.hello.lamps == 4);
    CHECK(hello.as.hello.syncs == 1);
    for (std::size_t i = 1; i <= 15; ++i) CHECK(messages[i].type == WIRE_CHANNEL);
    CHECK(messages[16].type == WIRE_SNAPSHOT);
    CHECK(messages[17].type == WIRE_HELLO);

    host.acknowledge(0);
    host.run_to(5s);
    CHECK(host.take(WIRE_HELLO).empty());
}

TEST_CASE("an acknowledge of another boot is no leave") {
    RigHost host;
    host.acknowledge(0, host.boot_id() + 1);
    host.rig.strike(at(100ms), PadRole::high_left, 0.8);
    host.run_to(600ms);
    const auto messages = host.take();
    CHECK(messages.back().type == WIRE_SNAPSHOT);  // the second greeting
    for (const wire_message& message : messages) CHECK_FALSE(wire_is_event(message.type));
}

TEST_CASE("a hello request is answered at any time, stops the levels and changes nothing else") {
    RigHost host;
    host.acknowledge(0);
    wire_message levels = message_of(WIRE_LEVELS);
    levels.as.levels.on = 1;
    host.send(levels);
    host.run_to(175ms);
    CHECK(host.take(WIRE_PAD_LEVEL).size() == 12);  // section 13: four pads, every 50 ms
    host.send(message_of(WIRE_HELLO_REQUEST));
    CHECK(host.take(WIRE_HELLO).size() == 1);
    host.rig.strike(at(200ms), PadRole::low_left, 0.5);
    host.run_to(1s);
    const auto messages = host.take();
    REQUIRE(messages.size() == 1);  // leave still holds (section 5)
    CHECK(messages[0].type == WIRE_PAD_HIT);
}

TEST_CASE("channels can be any subset, and what is not there is not noticed") {
    RigSettings settings;
    settings.pads = {PadRole::low_right};
    settings.gates = {};
    settings.lamps = {LampRole::head, LampRole::foot};
    settings.sync = false;
    RigHost host(settings);
    const auto channels = host.take(WIRE_CHANNEL);
    REQUIRE(channels.size() == 3);
    CHECK(channels[0].as.channel.role == WIRE_PAD_LOW_RIGHT);
    CHECK(channels[1].as.channel.role == WIRE_LAMP_HEAD);
    CHECK(channels[2].as.channel.role == WIRE_LAMP_FOOT);
    host.acknowledge(0);
    host.rig.strike(at(10ms), PadRole::high_left, 1);
    host.rig.cross_gate(at(20ms), GateRole::near_mark, 100ms, 60ms);
    host.rig.sound(at(30ms), 20ms);
    host.run_to(1s);
    CHECK(host.take().empty());
    host.order(1, host.rig.clock().ticks_at(at(1100ms)), 1, 1);
    host.run_to(1200ms);
    std::vector<LampChange> changes;
    host.rig.take_lamp_changes(changes);
    REQUIRE(changes.size() == 1);
    CHECK(changes[0].lit == 1U << static_cast<unsigned>(LampRole::head));  // lamp 0 of this rig
}

TEST_CASE("events carry the time at the sensor within the declared bound, whatever the clock's drift") {
    for (const double drift : {-200.0, 0.0, 200.0}) {
        RigSettings settings;
        settings.clock.drift_ppm = drift;
        RigHost host(settings);
        host.acknowledge(0);
        for (int i = 0; i < 200; ++i) host.rig.strike(at(1s + i * 300ms), PadRole::high_right, 0.6);
        for (int i = 0; i < 200; ++i) host.rig.cross_gate(at(1100ms + i * 300ms), GateRole::near_mark, 90ms, 50ms);
        std::vector<RigTruth> truths;
        std::size_t compared = 0;
        host.run_to(70s);
        host.rig.take_truths(truths);
        for (const RigTruth& truth : truths) {
            const bool is_pad = truth.event.type == WIRE_PAD_HIT;
            const auto true_ticks = static_cast<std::int64_t>(host.rig.clock().ticks_at(truth.at));
            const std::int64_t late = static_cast<std::int64_t>(truth.event.time) - true_ticks;
            CHECK(late >= 0);
            CHECK(late <= (is_pad ? 300 : 40));  // rig_settings.hpp: bounds of 150 us and 20 us
            ++compared;
        }
        CHECK(compared == 200 + 200 * 4);
        CHECK(host.take().size() > 1000);
    }
}

TEST_CASE("a pad hit is held back for its peak, named once, and its neighbours are echoes") {
    RigSettings settings;
    settings.crosstalk = 0.5;
    RigHost host(settings);
    host.acknowledge(0);
    host.take();
    host.rig.strike(at(50ms), PadRole::low_left, 0.9);
    host.run_to(54ms);
    CHECK(host.take().empty());
    host.run_to(70ms);  // section 6: within 5 ms more than window + crosstalk time
    auto hits = host.take(WIRE_PAD_HIT);
    REQUIRE(hits.size() == 1);
    CHECK(hits[0].as.pad_hit.pad == 2);
    CHECK(hits[0].as.pad_hit.peak == 900);
    CHECK(hits[0].as.pad_hit.echoes == 0b1011);         // half of 900 at least 0.4 times: above the threshold of 60
    host.rig.strike(at(80ms), PadRole::low_left, 0.9);  // within the refractory time of 60 ms
    host.run_to(100ms);
    CHECK(host.take().empty());
    host.rig.strike(at(200ms), PadRole::low_left, 0.05);  // under the threshold
    host.run_to(300ms);
    CHECK(host.take().empty());
}

TEST_CASE("a body's crossing is two breaks with their restores, and flicker is swallowed and counted") {
    for (const double bounce : {0.0, 1.0}) {
        RigSettings settings;
        settings.bounce = bounce;
        RigHost host(settings);
        host.acknowledge(0);
        host.take();
        host.rig.cross_gate(at(100ms), GateRole::far_mark, 120ms, 70ms);
        host.run_to(1s);
        const auto events = host.take();
        REQUIRE(events.size() == 4);
        for (std::size_t i = 0; i < 4; ++i) {
            CHECK(events[i].type == (i % 2 == 0 ? WIRE_GATE_BROKEN : WIRE_GATE_RESTORED));
            CHECK(events[i].as.gate.gate == 1);
        }
        CHECK((host.rig.counter(WIRE_COUNT_GATE_BOUNCES) == 0) == (bounce == 0.0));
    }
}

TEST_CASE("a change within the debounce time that lasts is reported with its own time") {
    RigHost host(steady_gates());
    host.acknowledge(0);
    host.take();
    host.rig.block_gate(at(100ms), GateRole::near_mark, true);
    host.rig.block_gate(at(101ms), GateRole::near_mark, false);  // debounce 2 ms (section 12)
    host.run_to(1s);
    const auto events = host.take();
    REQUIRE(events.size() == 2);
    CHECK(events[1].type == WIRE_GATE_RESTORED);
    const auto stamp = static_cast<std::int64_t>(events[1].time);
    CHECK(stamp - static_cast<std::int64_t>(host.rig.clock().ticks_at(at(101ms))) <= 40);
}

TEST_CASE("two legs in one beam break it once") {
    RigHost host(steady_gates());
    host.acknowledge(0);
    host.take();
    host.rig.cross_gate(at(100ms), GateRole::near_mark, 50ms, 80ms);
    host.run_to(1s);
    CHECK(host.take().size() == 2);
}

TEST_CASE("events are kept until acknowledged and sent again, the same to the byte") {
    RigHost host(steady_gates());
    host.rig.cross_gate(at(10ms), GateRole::near_mark, 100ms, 50ms);  // before leave: kept, not sent
    host.run_to(400ms);
    host.take();
    host.resend(1, 4);
    CHECK(host.take().empty());  // section 6: before leave a resend is ignored
    host.acknowledge(0);
    host.run_to(450ms);
    CHECK(host.take().empty());  // not sent unasked later
    host.resend(1, 4);
    const auto first = host.take();
    CHECK(sequences(first) == std::vector<std::uint16_t>{1, 2, 3, 4});
    host.resend(3, 200);
    const auto again = host.take();
    REQUIRE(again.size() == 2);
    CHECK(payload(again[0]) == payload(first[2]));
    CHECK(host.rig.counter(WIRE_COUNT_RESENT) == 6);

    host.acknowledge(3);
    host.resend(1, 4);
    const auto rest = host.take();
    REQUIRE(rest.size() == 2);
    CHECK(rest[0].type == WIRE_OVERWRITTEN);
    CHECK(rest[0].as.overwritten.first == 1);
    CHECK(rest[0].as.overwritten.last == 3);
    CHECK(rest[1].sequence == 4);
    host.acknowledge(9);  // later than the newest: leave, but nothing is given up (section 6)
    host.resend(4, 1);
    CHECK(host.take().size() == 1);
}

TEST_CASE("a full ring gives up its oldest events and counts them") {
    RigHost host(steady_gates());
    host.acknowledge(0);
    host.take();
    for (int i = 0; i < 20; ++i) host.rig.cross_gate(at(100ms + i * 500ms), GateRole::near_mark, 100ms, 50ms);
    host.run_to(20s);
    CHECK(host.take().size() == 80);
    CHECK(host.rig.counter(WIRE_COUNT_OVERWRITTEN) == 16);  // a ring of 64
    host.resend(15, 4);
    const auto answer = host.take();
    REQUIRE(answer.size() == 3);
    CHECK(answer[0].as.overwritten.first == 15);
    CHECK(answer[0].as.overwritten.last == 16);
    CHECK(sequences({answer[1], answer[2]}) == std::vector<std::uint16_t>{17, 18});
}

TEST_CASE("sequence numbers wrap from 65535 to 0 and resend goes over the wrap") {
    EventRing ring(64);
    for (int i = 0; i < 65540; ++i) {
        (void)ring.add(message_of(WIRE_SYNC_EDGE));
        if (i % 32 == 0 && i < 65530) ring.acknowledge(ring.newest());
    }
    CHECK(ring.newest() == 4);  // 65540 mod 65536
    std::vector<wire_message> found;
    CHECK_FALSE(ring.find(65534, 10, found));
    CHECK(sequences(found) == std::vector<std::uint16_t>{65534, 65535, 0, 1, 2, 3, 4});
}

TEST_CASE("a reset loses events, orders and lamps and brings a new boot, a gate still broken is no event") {
    RigHost host(steady_gates());
    host.acknowledge(0);
    const std::uint32_t boot = host.boot_id();
    host.order(1, host.rig.clock().ticks_at(at(100ms)), 1, 1);
    host.order(2, host.rig.clock().ticks_at(at(900ms)), 2, 2);
    host.rig.block_gate(at(150ms), GateRole::back_mark, true);
    host.run_to(200ms);
    CHECK(host.rig.lamps_lit() == 1);
    host.take();
    host.rig.reset(at(300ms));
    host.run_to(400ms);
    CHECK(host.rig.lamps_lit() == 0);
    host.send(message_of(WIRE_HELLO_REQUEST));  // it is still booting
    CHECK(host.take().empty());
    host.run_to(650ms);
    const auto messages = host.take();
    REQUIRE(messages.size() == 17);
    CHECK(messages[0].as.hello.boot == host.boot_id());
    CHECK(host.boot_id() != boot);
    CHECK(messages[0].as.hello.newest == 0);
    CHECK(messages[16].as.snapshot.gates_broken == 0b100);
    CHECK(messages[16].as.snapshot.time < 10);
    host.acknowledge(0);
    host.run_to(1s);
    CHECK(host.take().empty());  // order 2 is gone
    host.rig.block_gate(at(1100ms), GateRole::back_mark, false);
    host.run_to(2s);
    const auto events = host.take();
    REQUIRE(events.size() == 1);
    CHECK(events[0].type == WIRE_GATE_RESTORED);
    CHECK(events[0].sequence == 1);
}

TEST_CASE("a sound is one rising and one falling edge") {
    RigHost host;
    host.acknowledge(0);
    host.take();
    host.rig.sound(at(100ms), 40ms);
    host.run_to(1s);
    const auto edges = host.take();
    REQUIRE(edges.size() == 2);
    CHECK(edges[0].as.sync.rising == 1);
    CHECK(edges[0].time == host.rig.clock().ticks_at(at(100ms)));
    CHECK(edges[1].as.sync.rising == 0);
    CHECK(edges[1].time == host.rig.clock().ticks_at(at(140ms)));
}

TEST_CASE("boot ids follow from seed and salt, and differ from boot to boot") {
    std::set<std::uint32_t> boots;
    for (std::uint64_t salt = 0; salt < 20; ++salt) {
        RigSettings settings;
        settings.boot_salt = salt;
        RigHost host(settings);
        boots.insert(host.boot_id());
        CHECK(RigHost(settings).boot_id() == host.boot_id());
        host.rig.reset(at(1s));
        host.run_to(2s);
        boots.insert(host.boot_id());
    }
    CHECK(boots.size() == 40);
}
