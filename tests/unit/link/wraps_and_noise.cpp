// Numbers that wrap, bytes that are none of ours, and reads cut anywhere.
#include <doctest/doctest.h>

#include "link/ticks.hpp"
#include "support/link_bench.hpp"

namespace breakstep::test {
namespace {

TEST_CASE("70,000 events keep their order over the wrap of the sequence, at 3 % damaged frames") {
    BenchSettings damaged;
    damaged.damage = 0.03;
    damaged.commit_within = 10ms;
    ModelRigSettings rig;
    rig.room = 128;  // 500 events a second
    LinkBench bench({}, rig, damaged, 3);
    bench.rig.power_on(bench.now());
    bench.plug();
    REQUIRE(bench.run_until(5s, [&] { return bench.link.connected(); }));
    std::uint64_t told = 0, wrong = 0;
    bench.on_event = [&](const LinkEvent& event, HostTime) {
        if (const auto* hit = std::get_if<PadHit>(&event)) {
            ++told;
            wrong += hit->sequence == static_cast<std::uint16_t>(told) && hit->peak == told % 1000 + 1 ? 0 : 1;
        }
    };
    for (std::uint32_t i = 1; i <= 70'000; ++i) {
        bench.rig.strike(bench.now(), static_cast<std::uint8_t>(i % 4), static_cast<std::uint16_t>(i % 1000 + 1));
        bench.pump();
        bench.run(2ms);
        bench.events.clear();
    }
    bench.run(1s);
    CHECK(told == 70'000);
    CHECK(wrong == 0);
    CHECK(bench.link.counters().lost == 0);
}

TEST_CASE("the rig's 48 bits may wrap in the middle of a set") {
    ModelRigSettings rig;
    rig.first_ticks = (std::uint64_t{1} << 48U) - 20'000'000;  // ten seconds before the end
    LinkBench bench({}, rig, {}, 4);
    bench.rig.power_on(bench.now());
    bench.plug();
    REQUIRE(bench.run_until(1s, [&] { return bench.link.connected(); }));
    for (int i = 0; i < 200; ++i) {
        bench.rig.strike(bench.now(), 0, 7);
        bench.pump();
        const TargetTime made = bench.rig.time(bench.now());
        bench.run(100ms);
        REQUIRE(bench.all_of<PadHit>().size() == static_cast<std::size_t>(i + 1));
        CHECK(bench.all_of<PadHit>().back().at == made);
        const auto read = bench.link.target_time_from(bench.now());
        REQUIRE(read.has_value());
        CHECK(std::abs((read->at - bench.rig.time(bench.now())).count()) <= read->bound.count());
    }
    CHECK(bench.all_of<RigLost>().empty());
    // A lamp may be ordered for a time behind the wrap.
    CHECK(ticks_from(TargetTime{BootId{1}, Duration{(std::int64_t{1} << 48U) * 500 + 1500}}) == 3);
}

TEST_CASE("unwrapped times go on over the end, and an older one stays before it") {
    TickUnwrapper ticks;
    ticks.begin(BootId{5});
    const std::uint64_t end = std::uint64_t{1} << 48U;
    const TargetTime before = ticks.unwrap(end - 2);
    const TargetTime behind = ticks.unwrap(3);
    CHECK((behind - before) == 2500ns);
    CHECK((ticks.unwrap(end - 4) - before) == -1us);
    CHECK((ticks.unwrap(4) - behind) == 500ns);
}

TEST_CASE("a rig whose sequence stands anywhere is taken as it is") {
    for (const std::uint16_t first : {std::uint16_t{65530}, std::uint16_t{65535}, std::uint16_t{32767}}) {
        ModelRigSettings rig;
        rig.first_newest = first;
        LinkBench bench({}, rig, {}, 6);
        bench.rig.power_on(bench.now());
        bench.plug();
        REQUIRE(bench.run_until(1s, [&] { return bench.link.connected(); }));
        for (int i = 0; i < 20; ++i) bench.rig.strike(bench.now(), 0, 1);
        bench.pump();
        bench.run(200ms);
        CHECK(bench.all_of<PadHit>().size() == 20);
        CHECK(bench.link.counters().lost == 0);
    }
}

TEST_CASE("a megabyte of noise tells nothing, and a rig is found after it") {
    LinkBench bench({}, {}, {}, 7);
    Random random(9);
    bench.plug();
    std::vector<std::uint8_t> noise(1000);
    for (int i = 0; i < 1000; ++i) {
        for (std::uint8_t& byte : noise) {
            // Many zeros, so that many frames end.
            byte = random.chance(0.05) ? std::uint8_t{0} : static_cast<std::uint8_t>(random.next());
        }
        bench.link.bytes(bench.now(), noise);
        bench.run(1ms);
    }
    CHECK(bench.events.empty());
    CHECK(bench.link.counters().damaged > 10'000);
    bench.rig.power_on(bench.now());
    bench.pump();
    CHECK(bench.run_until(1s, [&] { return bench.link.connected(); }));
}

TEST_CASE("reads cut anywhere tell the same") {
    std::vector<std::string> tellings;
    for (const std::size_t chunk : {std::size_t{1}, std::size_t{3}, std::size_t{17}, std::size_t{64}}) {
        BenchSettings settings;
        settings.chunk_max = chunk;
        LinkBench bench({}, {}, settings, 8);
        bench.rig.power_on(bench.now());
        bench.plug();
        bench.run(2s);
        for (std::uint16_t i = 1; i <= 100; ++i) {
            bench.rig.strike(bench.now(), static_cast<std::uint8_t>(i % 4), i, static_cast<std::uint8_t>(i % 16));
            bench.pump();
            bench.run(10ms);
        }
        std::string telling;
        for (const PadHit& hit : bench.all_of<PadHit>()) {
            telling += std::to_string(hit.sequence) + " " + std::to_string(static_cast<int>(hit.pad)) + " " +
                       std::to_string(hit.peak) + " " + std::to_string(hit.echoes) + "\n";
        }
        tellings.push_back(telling);
        CHECK(bench.all_of<PadHit>().size() == 100);
    }
    for (const std::string& telling : tellings) CHECK(telling == tellings[0]);
}

TEST_CASE("the host's own echo is skipped and counted") {
    LinkBench bench({}, {}, {}, 9);
    bench.rig.power_on(bench.now());
    bench.plug();
    REQUIRE(bench.run_until(1s, [&] { return bench.link.connected(); }));
    const std::uint64_t before = bench.link.counters().stray;
    wire_message ping{};
    ping.type = WIRE_PING;
    bench.rig.send(ping);
    bench.pump();
    bench.run(50ms);
    CHECK(bench.link.counters().stray == before + 1);
}

TEST_CASE("messages of channels or boots that are not there are skipped and counted") {
    LinkBench bench({}, {}, {}, 10);
    bench.rig.power_on(bench.now());
    bench.plug();
    REQUIRE(bench.run_until(1s, [&] { return bench.link.connected(); }));
    bench.run(1s);
    const std::uint64_t before = bench.link.counters().stray;
    bench.rig.strike(bench.now(), 7, 100);
    bench.rig.gate(bench.now(), 5, true);
    wire_message level{};
    level.type = WIRE_PAD_LEVEL;
    level.as.pad_level.pad = 6;
    bench.rig.send(level);
    wire_message accepted{};
    accepted.type = WIRE_LAMP_ACCEPTED;
    accepted.as.lamp_accepted = {12345, 1};
    bench.rig.send(accepted);
    wire_message gone{};
    gone.type = WIRE_OVERWRITTEN;
    gone.as.overwritten = {40000, 50};
    bench.rig.send(gone);
    bench.pump();
    bench.run(50ms);
    CHECK(bench.link.counters().stray == before + 3);
    CHECK(bench.link.counters().skipped == 2);
    REQUIRE(bench.all_of<EventSkipped>().size() == 2);
    CHECK(bench.all_of<EventSkipped>()[0].type == WIRE_PAD_HIT);
    CHECK(bench.all_of<EventSkipped>()[1].reason == SkipReason::out_of_range);
    CHECK(bench.all_of<PadHit>().empty());
    CHECK(bench.all_of<EventsLost>().empty());
    CHECK(bench.link.counters().lost == 0);
}

}  // namespace
TEST_CASE("a peak of nothing or beyond the scale is told as skipped, and its number counts") {
    LinkBench bench({}, {}, {}, 12);
    bench.rig.power_on(bench.now());
    bench.plug();
    REQUIRE(bench.run_until(1s, [&] { return bench.link.connected(); }));
    for (const std::uint16_t peak : {std::uint16_t{0}, std::uint16_t{2000}, std::uint16_t{1023}})
        bench.rig.strike(bench.now(), 0, peak);
    bench.pump();
    bench.run(50ms);
    CHECK(bench.all_of<PadHit>().size() == 1);
    REQUIRE(bench.all_of<EventSkipped>().size() == 2);
    CHECK(bench.all_of<EventSkipped>()[1].sequence + 1 == bench.all_of<PadHit>()[0].sequence);
    CHECK(bench.link.counters().asked_again == 0);
}

}  // namespace breakstep::test
