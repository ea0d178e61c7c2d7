// The firmware's stamps against the cycles at which things truly happened: gates, pads, sync, lamps and pings.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "core/random.hpp"
#include "wire_host.hpp"

using namespace breakstep::tests;
using breakstep::Random;

namespace {

double us_of_ticks(double ticks) { return ticks * 0.5; }

/// Keeps the rig busy as a host does: pings and acknowledges at odd times.
struct Chatter {
    explicit Chatter(WireHost& to) : host(to) {}
    void run_until(std::uint64_t cycle) {
        while (next < cycle) {
            host.run_until(next);
            wire_message ping = message_of(WIRE_PING);
            ping.as.ping.id = ++id;
            host.send(ping);
            if (const auto events = host.events(); !events.empty()) host.acknowledge(events.back().sequence);
            next += 20'137 * cycles_per_us;
        }
        host.run_until(cycle);
    }
    WireHost& host;
    std::uint64_t next = 0;
    std::uint16_t id = 0;
};

struct Errors {
    std::vector<double> us;
    [[nodiscard]] double worst() const {
        double most = 0;
        for (const double one : us) most = std::max(most, std::abs(one));
        return most;
    }
    [[nodiscard]] double mean() const {
        double sum = 0;
        for (const double one : us) sum += one;
        return sum / static_cast<double>(us.size());
    }
    [[nodiscard]] double p99() const {
        std::vector<double> sizes;
        for (const double one : us) sizes.push_back(std::abs(one));
        std::sort(sizes.begin(), sizes.end());
        return sizes[sizes.size() * 99 / 100];
    }
};

std::map<int, int> gate_bounds(const WireHost& host) {
    std::map<int, int> bounds;
    for (const Heard& one : host.heard) {
        if (one.message.type == WIRE_CHANNEL && one.message.as.channel.kind == WIRE_KIND_GATE) {
            bounds[one.message.as.channel.index] = one.message.as.channel.bound_ticks;
        }
    }
    return bounds;
}

}  // namespace

TEST_CASE("every gate edge is stamped within the bound that its channel declares") {
    WireHost host(7);
    host.connect();
    Chatter chatter(host);
    chatter.next = host.board.cycle();
    Random random(11);
    std::map<int, std::vector<std::uint64_t>> truth;
    for (int i = 0; i < 400; ++i) {
        const int gate = static_cast<int>(random.below(6));
        const std::uint64_t at = host.board.cycle() + 5 * cycles_per_ms + random.below(3 * cycles_per_ms);
        truth[gate].push_back(at);
        host.board.gate(at, static_cast<unsigned>(gate), truth[gate].size() % 2 == 1);
        chatter.run_until(at + 5 * cycles_per_ms);
    }
    chatter.run_until(host.board.cycle() + 50 * cycles_per_ms);
    std::map<int, Errors> errors;
    for (const wire_message& event : host.events()) {
        const int gate = event.as.gate.gate;
        const std::size_t n = errors[gate].us.size();
        REQUIRE(n < truth[gate].size());
        CHECK((event.type == WIRE_GATE_BROKEN) == (n % 2 == 0));
        errors[gate].us.push_back(us_of_ticks(static_cast<double>(event.time) - host.ticks_at(truth[gate][n])));
    }
    const auto bounds = gate_bounds(host);
    for (auto& [gate, found] : errors) {
        CAPTURE(gate);
        REQUIRE(found.us.size() == truth[gate].size());
        MESSAGE("gate " << gate << ": mean " << found.mean() << " us, p99 " << found.p99() << ", worst "
                        << found.worst());
        CHECK(found.worst() <= us_of_ticks(bounds.at(gate)));
    }
}

TEST_CASE("a blow is stamped at its first crossing, within the bound that the pad declares, with its peak") {
    WireHost host(9);
    host.connect();
    Chatter chatter(host);
    chatter.next = host.board.cycle();
    Random random(5);
    Errors errors;
    double peak_error = 0;
    for (int i = 0; i < 200; ++i) {
        const unsigned pad = random.below(4);
        const double peak = 100 + 900 * random.unit(), rise_us = 40 + 60 * random.unit();
        const std::uint64_t at = host.board.cycle() + 5 * cycles_per_ms + random.below(2 * cycles_per_ms);
        host.board.strike(at, pad, peak, rise_us, 4);
        const std::size_t before = host.events().size();
        chatter.run_until(at + 90 * cycles_per_ms);
        const auto events = host.events();
        REQUIRE(events.size() == before + 1);
        const wire_message& hit = events.back();
        REQUIRE(hit.type == WIRE_PAD_HIT);
        CHECK(hit.as.pad_hit.pad == pad);
        CHECK(hit.as.pad_hit.echoes == 0);
        const double crossing = static_cast<double>(at) + rise_us * cycles_per_us * 60 / peak;
        errors.us.push_back(
            us_of_ticks(static_cast<double>(hit.time) - host.ticks_at(static_cast<std::uint64_t>(crossing))));
        peak_error = std::max(peak_error, std::abs(hit.as.pad_hit.peak - peak));
    }
    MESSAGE("pads: mean " << errors.mean() << " us, p99 " << errors.p99() << ", worst " << errors.worst());
    CHECK(errors.worst() <= 120);  // the declared bound, 240 ticks
    CHECK(peak_error < 30);        // it falls by 1.6 % in the 60 us between two looks, and noise adds 2
}

TEST_CASE("lamps change at the ordered time, all at once, and the event tells when") {
    WireHost host(3);
    host.connect();
    Chatter chatter(host);
    chatter.next = host.board.cycle();
    Random random(21);
    Errors ordered, told;
    std::uint8_t lit = 0;
    for (std::uint16_t order = 1; order <= 300; ++order) {
        const auto now = static_cast<std::uint64_t>(host.ticks_at(host.board.cycle()));
        wire_message message = message_of(WIRE_LAMP_ORDER);
        const std::uint64_t at = now + 40'000 + random.below(200'000);
        const auto next = static_cast<std::uint8_t>((lit + 1 + random.below(15)) % 16);
        message.as.lamp_order = {host.boot(), order, at, 0x0F, next};
        host.send(message);
        const std::size_t before = host.board.lamps().size();
        chatter.run_until(host.board.cycle() + (at - now) * cycles_per_tick + 3 * cycles_per_ms);
        REQUIRE(host.board.lamps().size() == before + 1);
        const BoardLamps change = host.board.lamps().back();
        CHECK(change.lit == next);
        const auto events = host.events();
        REQUIRE(events.size() == order);
        CHECK(events.back().type == WIRE_LAMPS_SET);
        CHECK(events.back().as.lamp.order == order);
        CHECK(events.back().as.lamp.lit == next);
        ordered.us.push_back(us_of_ticks(host.ticks_at(change.cycle) - static_cast<double>(at)));
        told.us.push_back(us_of_ticks(static_cast<double>(events.back().time) - host.ticks_at(change.cycle)));
        lit = next;
    }
    MESSAGE("lamps: onset mean " << ordered.mean() << " us, worst " << ordered.worst() << "; told worst "
                                 << told.worst());
    // An alarm may have to wait for one other interrupt, of which the longest takes 10 us.
    CHECK(ordered.p99() <= 10);
    CHECK(ordered.worst() <= 25);  // when the alarm had to wait for another interrupt
    CHECK(told.worst() <= 2);      // the declared bound, 4 ticks
}

TEST_CASE("orders of the same time are carried out in the order of their acceptance") {
    WireHost host;
    host.connect();
    const auto at = static_cast<std::uint64_t>(host.ticks_at(host.board.cycle())) + 100'000;
    for (std::uint16_t order = 1; order <= 4; ++order) {
        wire_message message = message_of(WIRE_LAMP_ORDER);
        message.as.lamp_order = {host.boot(), order, at, static_cast<std::uint8_t>(1U << (order - 1)), 0x0F};
        host.send(message);
    }
    host.run_for(80);
    const auto events = host.events();
    REQUIRE(events.size() == 4);
    for (std::size_t i = 0; i < 4; ++i) {
        CHECK(events[i].as.lamp.order == i + 1);
        CHECK(events[i].as.lamp.lit == (1U << (i + 1)) - 1);
        CHECK(static_cast<double>(events[i].time) - static_cast<double>(at) < 400);  // 200 us: one interrupt each
    }
}

TEST_CASE("a ping's two times err to one side only, and the delay is spread over 2 ms") {
    WireHost host(4);
    host.connect();
    Errors received, replied;
    std::vector<double> delays;
    for (std::uint16_t id = 1; id <= 200; ++id) {
        wire_message ping = message_of(WIRE_PING);
        ping.as.ping.id = id;
        const std::uint64_t ended = host.send(ping);
        const auto reply = host.wait_for(WIRE_PING_REPLY, 20);
        REQUIRE(reply);
        CHECK(reply->message.as.ping_reply.id == id);
        CHECK(reply->message.as.ping_reply.boot == host.boot());
        received.us.push_back(
            us_of_ticks(static_cast<double>(reply->message.as.ping_reply.received) - host.ticks_at(ended)));
        replied.us.push_back(
            us_of_ticks(host.ticks_at(reply->begun) - static_cast<double>(reply->message.as.ping_reply.replied)));
        delays.push_back(us_of_ticks(static_cast<double>(reply->message.as.ping_reply.replied) -
                                     static_cast<double>(reply->message.as.ping_reply.received)));
        host.run_for(17);
    }
    MESSAGE("received late by " << received.mean() << " (worst " << received.worst() << ") us, replied early by "
                                << replied.mean() << " (worst " << replied.worst() << ")");
    // A tick is the resolution: half a microsecond either way is not an error.
    CHECK(*std::min_element(received.us.begin(), received.us.end()) > -0.5);
    CHECK(*std::min_element(replied.us.begin(), replied.us.end()) > -0.5);
    CHECK(received.p99() < 20);
    CHECK(replied.p99() < 20);
    std::sort(delays.begin(), delays.end());
    MESSAGE("delays from " << delays.front() << " to " << delays.back() << " us");
    CHECK(delays.back() - delays.front() > 1800);
    CHECK(delays.back() - delays.front() < 2200);
    int early_half = 0;
    for (const double one : delays) early_half += one < (delays.front() + delays.back()) / 2 ? 1 : 0;
    CHECK(early_half > 70);  // of 200; below that once in 30,000 if the spread is even (binomial, normal approximation)
    CHECK(early_half < 130);
}

TEST_CASE("a sound of many edges is one beginning and one end") {
    WireHost host;
    host.connect();
    const std::uint64_t begins = host.board.cycle() + 10 * cycles_per_ms;
    for (int i = 0; i < 80; ++i) host.board.pin(begins + i * 250 * cycles_per_us, "sync", i % 2 == 0);
    host.run_for(60);
    const auto events = host.events();
    REQUIRE(events.size() == 2);
    CHECK(events[0].type == WIRE_SYNC_EDGE);
    CHECK(events[0].as.sync.rising == 1);
    CHECK(events[1].as.sync.rising == 0);
    CHECK(std::abs(static_cast<double>(events[0].time) - host.ticks_at(begins)) <= 60);
    CHECK(std::abs(static_cast<double>(events[1].time) - host.ticks_at(begins + 79 * 250 * cycles_per_us)) <= 60);
}
