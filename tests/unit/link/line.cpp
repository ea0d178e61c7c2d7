// What the link learns about its line from the replies.
#include <doctest/doctest.h>

#include "support/link_bench.hpp"

namespace breakstep::test {
namespace {

struct Seen {
    Uncertainty bound{};
    double pings_per_second = 0;
    std::uint64_t inside = 0, probes = 0;
};

Seen follow(LinkBench& bench) {
    bench.rig.power_on(bench.now());
    bench.plug();
    REQUIRE(bench.run_until(5s, [&] { return bench.link.connected(); }));
    bench.run(20s);
    Seen seen;
    const std::uint64_t pings = bench.link.counters().pings;
    for (int i = 0; i < 300; ++i) {
        bench.run(100ms);
        const auto told = bench.link.target_time_from(bench.now());
        REQUIRE(told.has_value());
        ++seen.probes;
        seen.inside += std::abs((told->at - bench.rig.time(bench.now())).count()) <= told->bound.count() ? 1 : 0;
    }
    seen.pings_per_second = static_cast<double>(bench.link.counters().pings - pings) / 30;
    seen.bound = bench.link.bound();
    CHECK(bench.all_of<RigLost>().empty());
    CHECK(bench.link.counters().clock_jumps == 0);
    CHECK(seen.inside * 100 >= seen.probes * 99);
    return seen;
}

TEST_CASE("on a pty, where bytes take no time, the clock is as good as the replies are quick") {
    BenchSettings pty;
    pty.byte_time = Duration{};
    pty.delay = 10us;
    LinkBench bench({}, {}, pty, 31);
    CHECK(follow(bench).bound < 20us);
}

TEST_CASE("a pty is never taken for a clock that jumps, however slow its replies are at first and after reopening") {
    for (std::uint64_t seed = 1; seed <= 60; ++seed) {
        CAPTURE(seed);
        BenchSettings pty;
        pty.byte_time = Duration{};
        pty.delay = 20us * static_cast<std::int64_t>(seed);
        LinkBench bench({}, {}, pty, seed);
        bench.rig.power_on(bench.now());
        for (int opening = 0; opening < 3; ++opening) {
            bench.plug();
            REQUIRE(bench.run_until(1s, [&] { return bench.link.connected(); }));
            bench.run(5s);
            CHECK(bench.link.counters().clock_jumps == 0);
            bench.unplug();
        }
    }
}

TEST_CASE("an adapter with a 16 ms latency timer is found out, and pinged more often") {
    BenchSettings slow;
    // Not a whole number of milliseconds: adapter and host have crystals of their own.
    slow.handover = 16001us;
    LinkBench bench({}, {}, slow, 33);
    const Seen seen = follow(bench);
    CHECK(seen.pings_per_second > 22.5);
    CHECK(seen.pings_per_second < 27.5);
    LinkBench quick({}, {}, {}, 34);
    const Seen usual = follow(quick);
    CHECK(usual.pings_per_second > 3.6);
    CHECK(usual.pings_per_second < 4.4);
}

TEST_CASE("pings stay as close as at first for as long as the clock is not good") {
    LinkSettings never;
    never.cue_bound = 1us;
    LinkBench bench(never, {}, {}, 35);
    const Seen seen = follow(bench);
    CHECK(seen.pings_per_second > 45);
    CHECK(seen.pings_per_second < 55);
}

}  // namespace
}  // namespace breakstep::test
