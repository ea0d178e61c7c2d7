// The line between rig and host, and the whole target on it: damage, delays, pulled cables, and that nothing but the
// seed decides what comes out.
#include <algorithm>
#include <map>

#include "devices/simulated/simulated_target.hpp"
#include "target_host.hpp"

using namespace breakstep;
using namespace breakstep::testing;

namespace {

std::vector<std::uint8_t> frames(int count) {
    std::vector<std::uint8_t> bytes;
    for (int i = 0; i < count; ++i) {
        wire_message ping = message_of(WIRE_PING);
        ping.as.ping.id = static_cast<std::uint16_t>(i);
        std::array<std::uint8_t, WIRE_FRAME_MAX> frame{};
        const std::size_t size = wire_encode_frame(&ping, frame.data());
        bytes.insert(bytes.end(), frame.begin(), frame.begin() + static_cast<std::ptrdiff_t>(size));
    }
    return bytes;
}

struct Received {
    std::uint64_t whole = 0, damaged = 0;
};
Received receive(const std::vector<std::uint8_t>& bytes) {
    Received received;
    wire_receiver receiver{};
    wire_message message{};
    for (const std::uint8_t byte : bytes) {
        const wire_received what = wire_receive(&receiver, byte, &message);
        if (what == WIRE_RECEIVED_MESSAGE) ++received.whole;
        if (what == WIRE_RECEIVED_DAMAGED || what == WIRE_RECEIVED_UNKNOWN) ++received.damaged;
    }
    return received;
}

}  // namespace

TEST_CASE("a line damages the share of frames it is set to, and no damaged frame passes as whole") {
    LinkModelSettings settings;
    settings.damage_to_host = 0.03;
    LinkModel line(settings);
    constexpr int sent = 20000;
    line.from_rig(at(0s), frames(sent));
    std::vector<std::uint8_t> bytes;
    while (const auto arrival = line.to_host(at(1000s)))
        bytes.insert(bytes.end(), arrival->bytes.begin(), arrival->bytes.end());
    const Received received = receive(bytes);
    const auto damaged = line.counters().damaged_to_host;
    // 3 % of 20,000 is 600; 4 standard errors of a binomial are 97 (by definition).
    CHECK(damaged > 503);
    CHECK(damaged < 697);
    // A lost closing zero takes the next frame along; a byte put in before or after a frame may leave it whole.
    CHECK(received.whole >= sent - 2 * damaged);
    CHECK(received.whole < sent - damaged / 2);
}

TEST_CASE("bytes take 20 us each and come in order and in lumps, on every adapter") {
    for (const AdapterKind adapter :
         {AdapterKind::pty, AdapterKind::usb_cdc, AdapterKind::one_millisecond, AdapterKind::latency_timer_16}) {
        LinkModelSettings settings;
        settings.adapter = adapter;
        LinkModel line(settings);
        const auto sent = frames(300);
        line.from_rig(at(0s), sent);
        std::vector<std::uint8_t> bytes;
        HostTime last = at(0s);
        std::size_t lumps = 0;
        while (const auto next = line.next_to_host()) {
            const auto arrival = line.to_host(*next);
            REQUIRE(arrival.has_value());
            CHECK(arrival->at >= last);
            last = arrival->at;
            bytes.insert(bytes.end(), arrival->bytes.begin(), arrival->bytes.end());
            CHECK(arrival->at >= at(20us * static_cast<std::int64_t>(bytes.size())));
            ++lumps;
        }
        CHECK(bytes == sent);
        CHECK(lumps > 1);
        CHECK(lumps < sent.size());
    }
}

TEST_CASE("the rig gets each frame at the end of its last byte") {
    LinkModelSettings settings;
    LinkModel line(settings);
    line.from_host(at(0s), frames(3));
    HostTime last{};
    for (int i = 0; i < 3; ++i) {
        const auto arrival = line.to_rig(at(1s));
        REQUIRE(arrival.has_value());
        CHECK(arrival->bytes.back() == 0);
        if (i > 0) CHECK(arrival->at - last == 20us * static_cast<std::int64_t>(arrival->bytes.size()));
        last = arrival->at;
    }
    CHECK_FALSE(line.to_rig(at(1s)).has_value());
}

TEST_CASE("a pulled cable loses what is under way and what is sent, and counts it") {
    LinkModel line(LinkModelSettings{});
    const auto bytes = frames(10);
    line.from_rig(at(0s), bytes);
    line.plug(false);
    line.from_rig(at(1ms), bytes);
    line.from_host(at(1ms), bytes);
    CHECK_FALSE(line.next_to_host().has_value());
    CHECK_FALSE(line.next_to_rig().has_value());
    CHECK(line.counters().bytes_lost == 3 * bytes.size());
    line.plug(true);
    line.from_host(at(2ms), bytes);
    CHECK(line.next_to_rig().has_value());
}

TEST_CASE("the same seed gives the same bytes, another seed others") {
    const auto evening = [](std::uint64_t seed) {
        SimulatedTargetSettings settings = simulated_target_settings(seed);
        settings.link.damage_to_host = settings.link.damage_to_rig = 0.01;
        TargetHost host(settings);
        AthleteSettings athlete;
        athlete.seed = seed;
        host.target.set_athlete(host.now, athlete);
        host.connect();
        host.play_attacks(6);
        return host.all_bytes;
    };
    const auto first = evening(5);
    CHECK(first.size() > 3000);
    CHECK(first == evening(5));
    CHECK(first != evening(6));
}

TEST_CASE("it makes no difference how often due is called") {
    const auto run = [](bool often) {
        TargetHost host(simulated_target_settings(3));
        host.target.set_athlete(host.now, AthleteSettings{});
        host.look_often = often;
        host.connect();
        host.play_attacks(4);
        return host.all_bytes;
    };
    CHECK(run(false) == run(true));
}

TEST_CASE("at 3 percent damage both ways every strike is told once, unaltered, and every order carried out once") {
    SimulatedTargetSettings settings = simulated_target_settings(8);
    settings.link.damage_to_host = settings.link.damage_to_rig = 0.03;
    TargetHost host(settings);
    host.connect();
    constexpr int strikes = 400;
    for (int i = 0; i < strikes; ++i)
        host.target.rig().strike(host.now + i * 150ms, static_cast<PadRole>(i % 4), 0.4 + 0.001 * (i % 500));
    for (int i = 0; i < 100; ++i) {
        host.order(host.now + 200ms, static_cast<std::uint8_t>(i % 2 == 0 ? 1 : 0));
        host.run_for(600ms);
    }
    host.run_for(1s);
    std::vector<RigTruth> truths;
    host.target.rig().take_truths(truths);
    CHECK(host.events.size() == truths.size());
    std::size_t hits = 0, set = 0;
    for (const RigTruth& truth : truths) {
        const auto found = host.events.find(truth.event.sequence);
        REQUIRE(found != host.events.end());
        CHECK(found->second.type == truth.event.type);
        CHECK(found->second.time == truth.event.time);
        hits += truth.event.type == WIRE_PAD_HIT ? 1 : 0;
        set += truth.event.type == WIRE_LAMPS_SET ? 1 : 0;
    }
    CHECK(hits == strikes);
    CHECK(set == 100);
    CHECK(host.target.link().counters().damaged_to_host > 10);
    CHECK(host.target.link().counters().damaged_to_rig > 10);
}

TEST_CASE("faults come at their times: a board reset is a new boot, a pulled power cable too, a pulled data line not") {
    for (const FaultKind kind : {FaultKind::board_reset, FaultKind::unplug, FaultKind::unplug_power}) {
        SimulatedTargetSettings settings = simulated_target_settings(2);
        settings.faults.push_back({2s, kind});
        if (kind != FaultKind::board_reset) settings.faults.push_back({3s, FaultKind::plug_in});
        TargetHost host(settings);
        host.connect();
        const BootId before = host.target.rig().boot();
        host.run_for(2500ms - (host.now - at(0s)));
        CHECK(host.target.plugged() == (kind == FaultKind::board_reset));
        host.run_for(2s);
        CHECK(host.target.plugged());
        CHECK((host.target.rig().boot() == before) == (kind == FaultKind::unplug));
    }
}
