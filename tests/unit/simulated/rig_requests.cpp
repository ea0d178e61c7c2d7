// What the simulated rig answers to pings, lamp orders, settings and damaged bytes, against
// firmware-protocol/PROTOCOL.md.
#include <algorithm>
#include <cmath>

#include "core/random.hpp"
#include "rig_host.hpp"

using namespace breakstep;
using namespace breakstep::testing;

namespace {

std::uint64_t ticks_at(const RigHost& host, Duration since_start) { return host.rig.clock().ticks_at(at(since_start)); }

wire_message setting(std::uint8_t type, std::uint8_t key, std::uint8_t index, std::uint16_t value) {
    wire_message message = message_of(type);
    message.as.setting = {key, index, 0, value};
    return message;
}

}  // namespace

TEST_CASE("pings are answered after a random time of up to 2 ms, also before the first acknowledge") {
    RigHost host;
    host.run_to(50ms);
    host.take();
    std::vector<double> waits;
    for (std::uint16_t i = 0; i < 400; ++i) {
        host.run_to(1s + i * 20ms);
        wire_message ping = message_of(WIRE_PING);
        ping.as.ping.id = i;
        host.send(ping);
        host.run_to(1s + i * 20ms + 12ms);  // a greeting may hold the line for 4 ms
        const auto replies = host.take(WIRE_PING_REPLY);
        REQUIRE(replies.size() == 1);
        const auto& reply = replies[0].as.ping_reply;
        CHECK(reply.id == i);
        CHECK(reply.boot == host.boot_id());
        CHECK(reply.received == ticks_at(host, 1s + i * 20ms));
        waits.push_back(static_cast<double>(reply.replied - reply.received) / 2000);
    }
    const auto [least, most] = std::minmax_element(waits.begin(), waits.end());
    CHECK(*least < 0.1);
    CHECK(*most > 1.9);
    // The median of 400 uniform waits of 0 .. 2 ms: 1 ms, give or take 4 standard errors of 0.05 ms (by definition).
    std::nth_element(waits.begin(), waits.begin() + 200, waits.end());
    CHECK(std::abs(waits[200] - 1.0) < 0.2);
}

TEST_CASE("a lamp order is carried out once, at its time, however often it is repeated") {
    RigHost host;
    host.acknowledge(0);
    host.take();
    const std::uint64_t when = ticks_at(host, 100ms);
    for (int i = 0; i < 5; ++i) host.order(7, when, 0b11, 0b01);
    CHECK(host.take(WIRE_LAMP_ACCEPTED).size() == 5);  // section 11: again for every repeat
    host.run_to(99'999us);
    CHECK(host.rig.lamps_lit() == 0);
    host.run_to(200ms);
    auto set = host.take(WIRE_LAMPS_SET);
    REQUIRE(set.size() == 1);
    CHECK(set[0].time == when);
    CHECK(set[0].as.lamp.order == 7);
    CHECK(set[0].as.lamp.lit == 1);
    host.order(7, ticks_at(host, 300ms), 0b10, 0b10);  // the same id: also not at another time
    CHECK(host.take(WIRE_LAMP_ACCEPTED).size() == 1);
    host.run_to(1s);
    CHECK(host.take().empty());
}

TEST_CASE("orders that can't be carried out are refused once, with the reason") {
    RigSettings settings;
    settings.lamps = {LampRole::foot, LampRole::hip, LampRole::head};
    RigHost host(settings);
    host.acknowledge(0);
    host.run_to(50ms);
    host.take();
    const std::uint64_t now = ticks_at(host, 50ms);
    const std::uint64_t minute = 120'000'000;  // section 11: 60 s
    host.order(1, now, 1, 1);
    host.order(2, now + minute + 1, 1, 1);
    host.order(3, now + 1000, 0b1000, 0b1000);
    host.order(1, now + 5000, 1, 1);  // a repeat of a refused one says nothing
    host.order(0, now + 5000, 1, 1);
    host.order(65535, now + 5000, 1, 1);
    const auto answers = host.take();
    REQUIRE(answers.size() == 3);
    for (const wire_message& answer : answers) CHECK(answer.type == WIRE_LAMP_REFUSED);
    CHECK(answers[0].as.lamp.reason == WIRE_REFUSED_TOO_LATE);
    CHECK(answers[1].as.lamp.reason == WIRE_REFUSED_TOO_FAR);
    CHECK(answers[2].as.lamp.reason == WIRE_REFUSED_NO_LAMP);
    for (std::uint16_t i = 0; i < 32; ++i) host.order(100 + i, now + minute, 1, 1);
    CHECK(host.take(WIRE_LAMP_ACCEPTED).size() == 32);
    host.order(200, now + minute, 1, 1);
    const auto full = host.take();
    REQUIRE(full.size() == 1);
    CHECK(full[0].as.lamp.reason == WIRE_REFUSED_QUEUE_FULL);
    wire_message foreign = message_of(WIRE_LAMP_ORDER);
    foreign.as.lamp_order = {host.boot_id() + 1, 300, now + 4000, 1, 1};
    host.send(foreign);
    CHECK(host.take().empty());
}

TEST_CASE("a cancelled order is not carried out, one or all, lit lamps stay lit") {
    RigHost host;
    host.acknowledge(0);
    host.take();
    for (std::uint16_t i = 1; i <= 4; ++i)
        host.order(i, ticks_at(host, i * 100ms), 0b1111, static_cast<std::uint8_t>(i));
    host.run_to(150ms);
    host.take();
    host.cancel(3);
    auto cancelled = host.take();
    REQUIRE(cancelled.size() == 1);
    CHECK(cancelled[0].type == WIRE_LAMP_CANCELLED);
    CHECK(cancelled[0].as.lamp.order == 3);
    host.cancel(3);
    host.cancel(77);
    CHECK(host.take().empty());
    host.cancel(65535);
    cancelled = host.take(WIRE_LAMP_CANCELLED);
    REQUIRE(cancelled.size() == 2);
    host.run_to(1s);
    CHECK(host.take().empty());
    CHECK(host.rig.lamps_lit() == 1);
}

TEST_CASE("orders of one time are carried out in the order of their acceptance") {
    RigHost host;
    host.acknowledge(0);
    host.take();
    const std::uint64_t when = ticks_at(host, 100ms);
    host.order(5, when, 0b01, 0b01);
    host.order(4, when, 0b11, 0b10);
    host.run_to(200ms);
    const auto set = host.take(WIRE_LAMPS_SET);
    REQUIRE(set.size() == 2);
    CHECK(set[0].as.lamp.order == 5);
    CHECK(set[1].as.lamp.lit == 0b10);
}

TEST_CASE("settings are kept, refused when out of range, and survive a reset") {
    RigHost host;
    host.take();
    const auto ask = [&](const wire_message& message) {
        host.send(message);
        const auto answers = host.take(WIRE_SETTING_VALUE);
        REQUIRE(answers.size() == 1);
        return answers[0].as.setting;
    };
    CHECK(ask(setting(WIRE_SETTING_GET, WIRE_SETTING_PAD_THRESHOLD, 2, 0)).value == 60);  // section 12: first value
    CHECK(ask(setting(WIRE_SETTING_SET, WIRE_SETTING_PAD_THRESHOLD, 2, 300)).value == 300);
    const auto refused = ask(setting(WIRE_SETTING_SET, WIRE_SETTING_PAD_THRESHOLD, 2, 1024));
    CHECK(refused.status == WIRE_SETTING_OUT_OF_RANGE);
    CHECK(refused.value == 300);
    CHECK(ask(setting(WIRE_SETTING_GET, 99, 0, 0)).status == WIRE_SETTING_UNKNOWN);
    CHECK(ask(setting(WIRE_SETTING_GET, WIRE_SETTING_GATE_DEBOUNCE, 6, 0)).status == WIRE_SETTING_UNKNOWN);
    CHECK(ask(setting(WIRE_SETTING_SET, WIRE_SETTING_CROSSTALK, 0, 20)).status == WIRE_SETTING_OK);
    host.rig.reset(at(1s));
    host.run_to(2s);
    CHECK(ask(setting(WIRE_SETTING_GET, WIRE_SETTING_PAD_THRESHOLD, 2, 0)).value == 300);

    host.acknowledge(0);
    host.rig.strike(at(2100ms), PadRole::low_left, 0.25);  // under the new threshold
    host.run_to(3s);
    CHECK(host.take(WIRE_PAD_HIT).empty());
}

TEST_CASE("damaged frames are counted and change nothing, the next whole one is understood") {
    RigHost host;
    host.acknowledge(0);
    host.take();
    Random random(4);
    std::vector<std::uint8_t> garbage;
    for (int i = 0; i < 5000; ++i) garbage.push_back(static_cast<std::uint8_t>(random.below(256)));
    garbage.push_back(0);
    host.send_bytes(garbage);
    CHECK(host.take().empty());
    CHECK(host.rig.counter(WIRE_COUNT_FRAMES_REJECTED) > 5);
    host.send(message_of(WIRE_COUNTERS_REQUEST));
    const auto counters = host.take(WIRE_COUNTERS);
    REQUIRE(counters.size() == 1);
    CHECK(counters[0].as.counters.values[WIRE_COUNT_FRAMES_REJECTED] == host.rig.counter(WIRE_COUNT_FRAMES_REJECTED));
}

TEST_CASE("the clock drifts and wanders as set, and its times convert back to the nanosecond") {
    CrystalClockSettings settings;
    settings.drift_ppm = 150;
    settings.wander_ppm = 0.3;
    settings.wander_phase = 1;
    const CrystalClock clock(settings, at(0s));
    const double elapsed = static_cast<double>(clock.ticks_at(at(600s))) * 500;
    CHECK(std::abs(elapsed / 600e9 - 1 - 150e-6) < 0.3e-6);
    Random random(5);
    for (int i = 0; i < 2000; ++i) {
        const std::uint64_t ticks = random.below(4'000'000'000U);
        const HostTime time = clock.time_of(ticks);
        CHECK(clock.ticks_at(time) >= ticks);
        CHECK(clock.ticks_at(time - 1ns) < ticks);
    }
    // The rate changes more slowly than the 0.05 ppm/s which the host's envelope allows (2 x 0.025e-6 s per s^2).
    double least = 1e9, most = -1e9;
    for (int i = 0; i < 180; ++i) {
        const double rate = static_cast<double>(clock.ticks_at(at((i + 1) * 1s)) - clock.ticks_at(at(i * 1s))) / 2;
        least = std::min(least, rate - 1e6);
        most = std::max(most, rate - 1e6);
    }
    CHECK(most - least < 2.0);
    CHECK(most - least > 0.3);
}
