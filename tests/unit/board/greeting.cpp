// How the firmware greets a host, keeps its events until it has leave, and sends them again (PROTOCOL.md, sections 5
// and 6).
#include <doctest/doctest.h>

#include <set>

#include "wire_host.hpp"

using namespace breakstep::tests;

TEST_CASE("the rig says hello unasked every 500 ms until it is acknowledged, with every channel and a snapshot") {
    WireHost host;
    const auto first = host.wait_for(WIRE_HELLO, 1000);
    REQUIRE(first);
    const wire_message& hello = first->message;
    CHECK(hello.as.hello.version_major == WIRE_VERSION_MAJOR);
    CHECK(hello.as.hello.board != 0);
    CHECK(hello.as.hello.boot != 0);
    CHECK(hello.as.hello.pads == 4);
    CHECK(hello.as.hello.gates == 6);
    CHECK(hello.as.hello.lamps == 4);
    CHECK(hello.as.hello.syncs == 1);
    CHECK(hello.as.hello.newest == 0);
    CHECK(hello.as.hello.oldest_kept == 1);

    const auto snapshot = host.wait_for(WIRE_SNAPSHOT, 100);
    REQUIRE(snapshot);
    std::vector<std::pair<int, int>> channels;
    std::set<std::pair<int, int>> roles;
    for (const Heard& one : host.heard) {
        if (one.message.type != WIRE_CHANNEL) continue;
        channels.emplace_back(one.message.as.channel.kind, one.message.as.channel.index);
        roles.emplace(one.message.as.channel.kind, one.message.as.channel.role);
        CHECK(one.message.as.channel.bound_ticks > 0);
    }
    const std::vector<std::pair<int, int>> expected{{1, 0}, {1, 1}, {1, 2}, {1, 3}, {2, 0}, {2, 1}, {2, 2},
                                                    {2, 3}, {2, 4}, {2, 5}, {3, 0}, {3, 1}, {3, 2}, {3, 3}, {4, 0}};
    CHECK(channels == expected);
    CHECK(roles.size() == channels.size());  // each role once in its kind

    const auto second = host.wait_for(WIRE_HELLO, 600);
    REQUIRE(second);
    const double apart_ms = static_cast<double>(second->begun - first->begun) / cycles_per_ms;
    CHECK(apart_ms == doctest::Approx(500).epsilon(0.01));
}

TEST_CASE("the switch for a partner's gates is read at the start") {
    WireHost host;
    host.board.pin(0, "solo", false);
    REQUIRE(host.wait_for(WIRE_SNAPSHOT, 1000));
    for (const Heard& one : host.heard) {
        if (one.message.type != WIRE_CHANNEL || one.message.as.channel.kind != WIRE_KIND_GATE) continue;
        if (one.message.as.channel.index == 1) CHECK(one.message.as.channel.role == WIRE_GATE_LOW);
        if (one.message.as.channel.index == 2) CHECK(one.message.as.channel.role == WIRE_GATE_HIP);
        if (one.message.as.channel.index == 5) CHECK(one.message.as.channel.role == WIRE_GATE_PARTNER_BACK);
        CHECK(one.message.as.channel.flags == (one.message.as.channel.index == 5 ? WIRE_CHANNEL_OPTIONAL : 0));
    }
}

TEST_CASE("hello_request is answered within 100 ms, also after leave was given") {
    WireHost host;
    host.connect();
    host.run_for(1200);
    const std::size_t before = host.heard.size();
    host.run_for(700);
    CHECK(host.heard.size() == before);  // nothing unasked any more
    const std::uint64_t asked = host.send(message_of(WIRE_HELLO_REQUEST));
    const auto snapshot = host.wait_for(WIRE_SNAPSHOT, 100);
    REQUIRE(snapshot);
    CHECK(snapshot->ended - asked < 100 * cycles_per_ms);
}

TEST_CASE("events wait for leave, are not sent unasked later, and are there when asked for") {
    WireHost host;
    REQUIRE(host.wait_for(WIRE_SNAPSHOT, 1000));
    host.board.gate(host.board.cycle() + 1000, 0, true);
    host.run_for(20);
    CHECK(host.events().empty());
    host.connect();
    host.run_for(50);
    CHECK(host.events().empty());
    wire_message resend = message_of(WIRE_RESEND);
    resend.as.resend = {host.boot(), 1, 4};
    host.send(resend);
    const auto overwritten = host.wait_for(WIRE_OVERWRITTEN, 50);
    // connect() acknowledged event 1, so it may be given up; the firmware does.
    REQUIRE(overwritten);
    CHECK(overwritten->message.as.overwritten.first == 1);
    CHECK(overwritten->message.as.overwritten.last == 1);
    host.board.gate(host.board.cycle() + 1000, 0, false);
    const auto restored = host.wait_for(WIRE_GATE_RESTORED, 50);
    REQUIRE(restored);
    CHECK(restored->message.sequence == 2);
}

TEST_CASE(
    "what happened before leave comes by resend when the host has not acknowledged it, the same to the byte again") {
    WireHost host;
    const auto hello = host.wait_for(WIRE_HELLO, 1000);
    REQUIRE(hello);
    REQUIRE(host.wait_for(WIRE_SNAPSHOT, 1000));
    for (int i = 0; i < 6; ++i) host.board.gate(host.board.cycle() + (1000 + 100 * i) * cycles_per_us, 0, i % 2 == 0);
    host.run_for(60);
    // The debounce swallows edges 0.1 ms apart: broken once, and its end.
    wire_message acknowledge = message_of(WIRE_ACKNOWLEDGE);
    acknowledge.as.acknowledge = {hello->message.as.hello.boot, 0};
    host.send(acknowledge);
    host.run_for(5);
    REQUIRE(host.events().empty());
    wire_message resend = message_of(WIRE_RESEND);
    resend.as.resend = {hello->message.as.hello.boot, 1, 10};
    host.send(resend);
    host.run_for(20);
    const auto events = host.events();
    REQUIRE(events.size() == 2);
    CHECK(events[0].type == WIRE_GATE_BROKEN);
    CHECK(events[1].type == WIRE_GATE_RESTORED);
    host.send(resend);
    host.run_for(20);
    std::vector<std::vector<std::uint8_t>> frames;
    for (const Heard& one : host.heard) {
        if (wire_is_event(one.message.type)) frames.push_back(one.frame);
    }
    REQUIRE(frames.size() == 4);
    CHECK(frames[0] == frames[2]);
    CHECK(frames[1] == frames[3]);
}

TEST_CASE("when its room is full the oldest event gives way, and the rig says which are gone") {
    WireHost host;
    host.connect();
    REQUIRE(host.set(WIRE_SETTING_GATE_DEBOUNCE, 0, 0));
    constexpr unsigned edges = 60;
    for (unsigned i = 0; i < edges; ++i) {
        host.board.gate(host.board.cycle() + (10 + i) * cycles_per_ms, 0, i % 2 == 0);
    }
    host.run_for(100);
    CHECK(host.events().size() == edges);
    host.send(message_of(WIRE_HELLO_REQUEST));
    const auto hello = host.wait_for(WIRE_HELLO, 100);
    REQUIRE(hello);
    CHECK(hello->message.as.hello.newest == edges);
    const int kept = edges - hello->message.as.hello.oldest_kept + 1;
    CHECK(kept >= 32);
    wire_message resend = message_of(WIRE_RESEND);
    resend.as.resend = {host.boot(), 1, 255};
    host.send(resend);
    const auto gone = host.wait_for(WIRE_OVERWRITTEN, 50);
    REQUIRE(gone);
    CHECK(gone->message.as.overwritten.first == 1);
    CHECK(gone->message.as.overwritten.last == edges - kept);
    host.run_for(100);
    CHECK(host.events().size() == edges + static_cast<unsigned>(kept));
    host.send(message_of(WIRE_COUNTERS_REQUEST));
    const auto counters = host.wait_for(WIRE_COUNTERS, 100);
    REQUIRE(counters);
    CHECK(counters->message.as.counters.values[WIRE_COUNT_OVERWRITTEN] == edges - kept);
    CHECK(counters->message.as.counters.values[WIRE_COUNT_RESENT] == kept);
}

TEST_CASE("damaged frames are counted and messages for another boot are ignored") {
    WireHost host;
    host.connect();
    const std::vector<std::uint8_t> garbage{0x05, 0x81, 0x99, 0x00, 0x33, 0x44, 0x00, 0x00, 0x00};
    host.board.bytes(host.board.cycle(), garbage.data(), garbage.size());
    wire_message order = message_of(WIRE_LAMP_ORDER);
    order.as.lamp_order = {host.boot() + 1, 7, 10'000'000, 1, 1};
    host.send(order, host.board.cycle() + 2 * cycles_per_ms);
    host.run_for(20);
    CHECK(host.events().empty());
    host.send(message_of(WIRE_COUNTERS_REQUEST));
    const auto counters = host.wait_for(WIRE_COUNTERS, 100);
    REQUIRE(counters);
    CHECK(counters->message.as.counters.values[WIRE_COUNT_FRAMES_REJECTED] == 2);
}
