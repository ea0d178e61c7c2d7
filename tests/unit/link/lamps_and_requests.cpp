// Lamp orders to their end, and the rig's own numbers.
#include <doctest/doctest.h>

#include <algorithm>
#include <set>

#include "support/link_bench.hpp"

namespace breakstep::test {
namespace {

struct Fixture {
    explicit Fixture(double damage = 0, ModelRigSettings rig = {}, std::uint64_t seed = 23) : bench({}, rig, {}, seed) {
        bench.rig.power_on(bench.now());
        bench.plug();
        REQUIRE(bench.run_until(2s, [&] { return bench.link.connected() && bench.link.bound() < 500us; }));
        bench.set_damage(damage);
    }
    LinkBench bench;

    std::uint16_t order(Duration ahead, std::uint8_t affected, std::uint8_t lit) {
        const TargetTime at = bench.link.target_time_from(bench.now() + ahead)->at;
        const std::uint16_t id = bench.link.order_lamps(bench.now(), at, affected, lit);
        bench.pump();
        return id;
    }
};

TEST_CASE("a lamp order is carried out at its time, by role, and confirmed") {
    Fixture f;
    const TargetTime at = f.bench.link.target_time_from(f.bench.now() + 100ms)->at;
    const std::uint16_t id = f.bench.link.order_lamps(f.bench.now(), at, 0b0111, 0b0010);
    f.bench.pump();
    CHECK(id >= 1);
    CHECK(id <= 65534);
    f.bench.run(200ms);
    const auto set = f.bench.all_of<LampsSet>();
    REQUIRE(set.size() == 1);
    CHECK(set[0].order == id);
    CHECK(set[0].lit == 0b0010);
    CHECK(std::abs((set[0].at - at).count()) < 2000);
    // Accepted at the first sending: not repeated.
    CHECK(f.bench.rig.orders_taken() == 1);
}

TEST_CASE("at 20 % damaged frames every order is carried out once, none twice") {
    for (std::uint64_t seed = 1; seed <= 5; ++seed) {
        CAPTURE(seed);
        Fixture f(0.2, {}, seed);
        std::vector<std::uint16_t> ordered;
        for (int i = 0; i < 200; ++i) {
            ordered.push_back(f.order(150ms, 0b0111, static_cast<std::uint8_t>(i % 8)));
            f.bench.run(60ms);
        }
        f.bench.run(2s);
        CHECK(f.bench.rig.carried_out() == ordered);
        std::vector<std::uint16_t> confirmed;
        for (const LampsSet& set : f.bench.all_of<LampsSet>()) confirmed.push_back(set.order);
        CHECK(confirmed == ordered);
        CHECK(f.bench.link.counters().unanswered == 0);
        CHECK(f.bench.frames_in_10_ms_max <= 16);
    }
}

TEST_CASE("more than sixteen orders wait their turn here, and all are carried out") {
    Fixture f;
    std::vector<std::uint16_t> ordered;
    for (int i = 0; i < 60; ++i)
        ordered.push_back(f.order(100ms + i * 10ms, 0b1111, static_cast<std::uint8_t>(i % 16)));
    f.bench.run(2s);
    CHECK(f.bench.rig.carried_out() == ordered);
    CHECK(f.bench.rig.orders_waiting_max() <= 16);
    CHECK(f.bench.all_of<LampsRefused>().empty());
}

TEST_CASE("an order that comes too late is refused, with the reason") {
    Fixture f;
    const std::uint16_t id = f.order(-20ms, 0b0001, 0b0001);
    f.bench.run(500ms);
    const auto refused = f.bench.all_of<LampsRefused>();
    REQUIRE(refused.size() == 1);
    CHECK(refused[0].order == id);
    CHECK(refused[0].reason == WIRE_REFUSED_TOO_LATE);
    CHECK(f.bench.rig.orders_taken() == 1);
}

TEST_CASE("lamps that the rig has not are left out of an order") {
    ModelRigSettings rig;
    rig.lamps = 2;  // foot and hip
    Fixture f(0, rig);
    CHECK(f.order(100ms, 0b1100, 0b1100) == 0);
    CHECK(f.order(100ms, 0b1111, 0b0110) != 0);
    f.bench.run(300ms);
    REQUIRE(f.bench.all_of<LampsSet>().size() == 1);
    CHECK(f.bench.all_of<LampsSet>()[0].lit == 0b0010);
    CHECK(f.bench.all_of<LampsRefused>().empty());
}

TEST_CASE("an order for another boot is not made") {
    Fixture f;
    CHECK(f.bench.link.order_lamps(f.bench.now(), {BootId{1}, 1s}, 1, 1) == 0);
}

TEST_CASE("cancelled orders are not carried out, also at 20 % damaged frames, later ones are") {
    for (std::uint64_t seed = 1; seed <= 8; ++seed) {
        CAPTURE(seed);
        Fixture f(0.2, {}, seed);
        std::set<std::uint16_t> cancelled;
        for (int i = 0; i < 30; ++i) cancelled.insert(f.order(800ms + i * 5ms, 0b0111, 0b0001));
        f.bench.run(100ms);
        f.bench.link.cancel_lamps(f.bench.now());
        f.bench.pump();
        std::vector<std::uint16_t> later;
        for (int i = 0; i < 5; ++i) later.push_back(f.order(900ms + i * 20ms, 0b0111, 0b0010));
        f.bench.run(3s);
        CHECK(f.bench.rig.carried_out() == later);
        // Each that had reached the rig is told of once.
        std::set<std::uint16_t> told;
        for (const LampsRefused& refused : f.bench.all_of<LampsRefused>()) {
            CHECK(refused.reason == 0);
            CHECK(cancelled.contains(refused.order));
            CHECK(told.insert(refused.order).second);
        }
        CHECK(told.size() >= 10);
    }
}

TEST_CASE("order ids run on from 65534 to 1, and two links do not begin alike") {
    Fixture a(0, {}, 1);
    Fixture b(0, {}, 2);
    CHECK(a.order(100ms, 1, 1) != b.order(100ms, 1, 1));
    std::uint16_t last = a.order(100ms, 1, 0);
    std::size_t wraps = 0;
    for (int i = 0; i < 66'000; ++i) {
        const std::uint16_t id = a.bench.link.order_lamps(a.bench.now(), a.bench.rig.time(a.bench.now() + 1s), 1, 1);
        const bool follows = id == last + 1 || (last == 65534 && id == 1);
        REQUIRE(follows);
        wraps += id == 1 ? 1 : 0;
        last = id;
        if (i % 8 == 0) {
            a.bench.link.cancel_lamps(a.bench.now());
            a.bench.pump();
            a.bench.run(5ms);
        }
    }
    CHECK(wraps >= 1);
}

TEST_CASE("an order on its way when the board resets is given up and counted") {
    Fixture f;
    f.bench.set_silent(true);
    CHECK(f.order(500ms, 1, 1) != 0);
    f.bench.set_silent(false);
    f.bench.rig.power_on(f.bench.now());
    f.bench.pump();
    f.bench.run(2s);
    CHECK(f.bench.rig.carried_out().empty());
    CHECK(f.bench.link.counters().unanswered == 1);
}

TEST_CASE("settings and counters are asked until answered") {
    Fixture f(0.3);
    f.bench.link.get_setting(f.bench.now(), WIRE_SETTING_PAD_THRESHOLD, 2);
    f.bench.link.set_setting(f.bench.now(), WIRE_SETTING_PAD_WINDOW, 1, 80);
    f.bench.link.request_counters(f.bench.now());
    f.bench.pump();
    f.bench.run(2s);
    bool got = false, set = false;
    for (const SettingValue& value : f.bench.all_of<SettingValue>()) {
        got = got || (value.key == WIRE_SETTING_PAD_THRESHOLD && value.index == 2 && value.value == 60);
        set = set || (value.key == WIRE_SETTING_PAD_WINDOW && value.index == 1 && value.value == 80);
    }
    CHECK(got);
    CHECK(set);
    CHECK_FALSE(f.bench.all_of<RigCounters>().empty());
}

TEST_CASE("a setting that the rig does not answer is asked four times, then counted") {
    Fixture f;
    f.bench.rig.setting_value.reset();
    f.bench.link.get_setting(f.bench.now(), WIRE_SETTING_CROSSTALK, 0);
    f.bench.pump();
    f.bench.run(5s);
    CHECK(f.bench.rig.settings_asked() == 4);
    CHECK(f.bench.link.counters().unanswered == 1);
    CHECK(f.bench.all_of<SettingValue>().empty());
}

TEST_CASE("frames leave no faster than sixteen in ten milliseconds, in order, and none is dropped") {
    Link link({}, 1);
    link.port_opened(HostTime{1s});
    for (std::uint8_t i = 0; i < 40; ++i) link.get_setting(HostTime{1s}, WIRE_SETTING_PAD_THRESHOLD, i);
    std::vector<OutFrame> frames;
    link.drain(frames);
    CHECK(frames.size() == 16);
    HostTime now{1s};
    while (frames.size() < 41) {
        REQUIRE(link.next_due().has_value());
        REQUIRE(*link.next_due() > now);
        now = *link.next_due();
        link.due(now);
        link.drain(frames);
    }
    CHECK(now == HostTime{1020ms});
    CHECK(
        std::is_sorted(frames.begin(), frames.end(), [](const OutFrame& a, const OutFrame& b) { return a.id < b.id; }));
    CHECK(link.counters().dropped == 0);
}

}  // namespace
}  // namespace breakstep::test
