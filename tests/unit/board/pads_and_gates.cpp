// Blows, echoes, debounce and levels as the firmware makes them (PROTOCOL.md, sections 8, 9 and 13).
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "core/random.hpp"
#include "wire_host.hpp"

using namespace breakstep::tests;
using breakstep::Random;

namespace {

/// A blow on `pad` that shakes the others by `coupling` of its strength, as a frame of wood does: a little later, a
/// little slower.
void strike_all(WireHost& host, std::uint64_t at, unsigned pad, double peak, double coupling, Random& random) {
    const double rise_us = 50 + 30 * random.unit(), fall_ms = 3 + 2 * random.unit();
    host.board.strike(at, pad, peak, rise_us, fall_ms);
    for (unsigned other = 0; other < 4; ++other) {
        if (other == pad) continue;
        const std::uint64_t later = at + random.below(800) * cycles_per_us;
        host.board.strike(later, other, peak * coupling * (0.6 + 0.4 * random.unit()), rise_us * (1 + random.unit()),
                          fall_ms);
    }
}

}  // namespace

TEST_CASE("with pads coupled at 30 % the right one is named, from light blows to ones beyond what can be measured") {
    WireHost host(17);
    host.connect();
    Random random(42);
    int wrong = 0, with_echoes = 0;
    constexpr int blows = 1000;
    for (int i = 0; i < blows; ++i) {
        const unsigned pad = random.below(4);
        const double peak = 80 * std::pow(20.0, random.unit());  // 80 to 1600: 1023 is the most that can be told
        const std::size_t before = host.events().size();
        strike_all(host, host.board.cycle() + 16 * (100 + random.below(500)), pad, peak, 0.3, random);
        host.run_for(75);
        const auto events = host.events();
        if (i % 20 == 19) host.acknowledge(events.back().sequence);
        const bool right =
            events.size() == before + 1 && events.back().type == WIRE_PAD_HIT && events.back().as.pad_hit.pad == pad;
        if (!right) ++wrong;
        if (events.back().as.pad_hit.echoes != 0) ++with_echoes;
        CHECK((events.back().as.pad_hit.echoes >> events.back().as.pad_hit.pad & 1) == 0);
        host.heard.clear();
    }
    MESSAGE(blows << " blows, " << wrong << " named wrongly, " << with_echoes << " with echoes");
    CHECK(wrong <= blows / 1000);
    CHECK(with_echoes > blows / 4);  // so that the naming was put to the test
}

TEST_CASE("pads struck further apart than the crosstalk time are two blows") {
    WireHost host;
    host.connect();
    const std::uint64_t at = host.board.cycle() + 10 * cycles_per_ms;
    host.board.strike(at, 0, 800, 60, 4);
    host.board.strike(at + 6 * cycles_per_ms, 2, 300, 60, 4);
    host.run_for(60);
    const auto events = host.events();
    REQUIRE(events.size() == 2);
    CHECK(events[0].as.pad_hit.pad == 0);
    CHECK(events[1].as.pad_hit.pad == 2);
    CHECK(events[0].as.pad_hit.echoes == 0);
    CHECK(events[1].as.pad_hit.echoes == 0);
}

TEST_CASE("a pad is deaf for its refractory time, and until its level has fallen") {
    WireHost host;
    host.connect();
    const std::uint64_t at = host.board.cycle() + 10 * cycles_per_ms;
    host.board.strike(at, 1, 500, 60, 2);
    host.board.strike(at + 40 * cycles_per_ms, 1, 900, 60, 2);    // within 60 ms: not heard
    host.board.strike(at + 70 * cycles_per_ms, 1, 400, 60, 60);   // heard; its level stays high for long
    host.board.strike(at + 140 * cycles_per_ms, 1, 100, 60, 60);  // the level has not been below 45: not heard
    host.board.strike(at + 900 * cycles_per_ms, 1, 300, 60, 2);
    host.run_for(1000);
    const auto events = host.events();
    REQUIRE(events.size() == 3);
    CHECK(std::abs(events[0].as.pad_hit.peak - 500) < 20);
    CHECK(std::abs(events[1].as.pad_hit.peak - 400) < 20);
    CHECK(std::abs(events[2].as.pad_hit.peak - 300) < 20);
}

TEST_CASE("a flickering gate is told once broken, once restored, and its bounces are counted") {
    WireHost host;
    host.connect();
    for (unsigned gate = 0; gate < 6; ++gate) {
        CAPTURE(gate);
        const std::size_t before = host.events().size();
        const std::uint64_t at = host.board.cycle() + 10 * cycles_per_ms;
        for (unsigned i = 0; i < 9; ++i) host.board.gate(at + i * 150 * cycles_per_us, gate, i % 2 == 0);
        for (unsigned i = 0; i < 9; ++i)
            host.board.gate(at + 30 * cycles_per_ms + i * 150 * cycles_per_us, gate, i % 2 == 1);
        host.run_for(60);
        const auto events = host.events();
        REQUIRE(events.size() == before + 2);
        CHECK(events[before].type == WIRE_GATE_BROKEN);
        CHECK(events[before + 1].type == WIRE_GATE_RESTORED);
        CHECK(events[before].as.gate.gate == gate);
        CHECK(std::abs(static_cast<double>(events[before].time) - host.ticks_at(at)) <= 60);
        CHECK(std::abs(static_cast<double>(events[before + 1].time) - host.ticks_at(at + 30 * cycles_per_ms)) <= 60);
    }
    host.send(message_of(WIRE_COUNTERS_REQUEST));
    const auto counters = host.wait_for(WIRE_COUNTERS, 100);
    REQUIRE(counters);
    CHECK(counters->message.as.counters.values[WIRE_COUNT_GATE_BOUNCES] == 6 * 16);
}

TEST_CASE("a gate that has changed when its debounce time is over is told with the time of that edge") {
    WireHost host;
    host.connect();
    const std::uint64_t at = host.board.cycle() + 10 * cycles_per_ms;
    for (unsigned gate = 0; gate < 6; ++gate) {
        host.board.gate(at, gate, true);
        host.board.gate(at + 900 * cycles_per_us, gate, false);  // within the 2 ms
    }
    host.run_for(40);
    const auto events = host.events();
    REQUIRE(events.size() == 12);
    for (const wire_message& event : events) {
        const std::uint64_t true_at = event.type == WIRE_GATE_BROKEN ? at : at + 900 * cycles_per_us;
        // Six gates at once have to wait for each other.
        CHECK(std::abs(static_cast<double>(event.time) - host.ticks_at(true_at)) <= 120);
    }
}

TEST_CASE("a gate that is broken at the start stands in the snapshot, and its first event is that it was restored") {
    WireHost host;
    for (unsigned gate = 0; gate < 6; ++gate) host.board.gate(0, gate, gate != 2);
    const auto snapshot = host.wait_for(WIRE_SNAPSHOT, 1000);
    REQUIRE(snapshot);
    CHECK(snapshot->message.as.snapshot.gates_broken == 0b111011);
    host.connect();
    CHECK(host.events().empty());
    for (unsigned gate = 0; gate < 6; ++gate)
        host.board.gate(host.board.cycle() + (10 + gate) * cycles_per_ms, gate, false);
    host.run_for(40);
    const auto events = host.events();
    REQUIRE(events.size() == 5);
    for (const wire_message& event : events) CHECK(event.type == WIRE_GATE_RESTORED);
}

TEST_CASE("a storm of edges on two gates hangs nothing, is told strictly in turns, and ends in the true state") {
    WireHost host;
    host.connect();
    // 40,000 edges a second for 0.6 s: longer than the watchdog's patience.
    const std::uint64_t at = host.board.cycle() + 10 * cycles_per_ms;
    for (unsigned i = 0; i < 24'000; ++i) host.board.gate(at + i * 25 * cycles_per_us, 1 + i % 2 * 2, i / 2 % 2 == 0);
    host.board.gate(at + 605 * cycles_per_ms, 1, true);
    host.board.gate(at + 605 * cycles_per_ms, 3, true);
    for (int i = 0; i < 80; ++i) {
        host.run_for(10);
        if (const auto events = host.events(); !events.empty()) host.acknowledge(events.back().sequence);
    }
    const auto events = host.events();
    std::map<int, int> last;
    int out_of_turn = 0, lost = 0, sequence = 0;
    for (const wire_message& event : events) {
        lost += event.sequence - sequence - 1;
        if (event.sequence == sequence + 1 && last[event.as.gate.gate] == event.type) ++out_of_turn;
        if (event.sequence != sequence + 1) last.clear();
        sequence = event.sequence;
        last[event.as.gate.gate] = event.type;
    }
    MESSAGE(events.size() << " events, " << lost << " overwritten before they could be sent");
    CHECK(out_of_turn == 0);
    CHECK(last[1] == WIRE_GATE_BROKEN);
    CHECK(last[3] == WIRE_GATE_BROKEN);
    CHECK(host.board.boots().size() == 1);
    host.send(message_of(WIRE_COUNTERS_REQUEST));
    const auto counters = host.wait_for(WIRE_COUNTERS, 100);
    REQUIRE(counters);
    CHECK(counters->message.as.counters.values[WIRE_COUNT_OVERWRITTEN] == lost);
    CHECK(counters->message.as.counters.values[WIRE_COUNT_GATE_BOUNCES] > 10'000);
}

TEST_CASE(
    "levels tell the largest since they were told last and the noise floor, every 50 ms for each pad, until "
    "hello_request") {
    WireHost host;
    host.board.command("rest 0 2 25");
    host.board.command("noise 0 2 10");
    host.connect();
    host.run_for(4000);
    wire_message levels = message_of(WIRE_LEVELS);
    levels.as.levels.on = 1;
    host.send(levels);
    host.run_for(100);
    host.heard.clear();
    host.board.strike(host.board.cycle() + 200 * cycles_per_ms, 3, 700, 60, 5);
    host.run_for(500);
    std::map<int, std::vector<wire_message>> by_pad;
    for (const Heard& one : host.heard) {
        if (one.message.type == WIRE_PAD_LEVEL) by_pad[one.message.as.pad_level.pad].push_back(one.message);
    }
    REQUIRE(by_pad.size() == 4);
    for (const auto& [pad, told] : by_pad) {
        CHECK(told.size() >= 9);
        CHECK(told.size() <= 11);
        for (std::size_t i = 1; i < told.size(); ++i) {
            CHECK(std::abs(static_cast<double>(told[i].as.pad_level.time - told[i - 1].as.pad_level.time) - 100'000) <
                  10'000);  // 5 ms
        }
    }
    // A resting level of 25 with 0 to 10 on top: 30 on the average, 35 at most.
    CHECK(std::abs(by_pad[2].back().as.pad_level.noise - 30) <= 1);
    CHECK(by_pad[2].back().as.pad_level.level == 35);
    const auto loudest = std::max_element(by_pad[3].begin(), by_pad[3].end(), [](const auto& a, const auto& b) {
        return a.as.pad_level.level < b.as.pad_level.level;
    });
    CHECK(std::abs(loudest->as.pad_level.level - 700) < 25);
    CHECK(by_pad[3].back().as.pad_level.level <= 2);
    host.send(message_of(WIRE_HELLO_REQUEST));
    host.run_for(100);
    host.heard.clear();
    host.run_for(200);
    CHECK(host.heard.empty());
}
