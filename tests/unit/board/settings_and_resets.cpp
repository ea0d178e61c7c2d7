// Settings that outlast switching off, resets, the watchdog, and a line at its full rate.
#include <doctest/doctest.h>

#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <vector>

#include "wire_host.hpp"

using namespace breakstep::tests;

namespace {

/// A file name that is gone when the test ends.
struct MemoryFile {
    MemoryFile() {
        static int number = 0;
        path = (std::filesystem::temp_directory_path() /
                ("breakstep-board-memory-" + std::to_string(getpid()) + "-" + std::to_string(number++)))
                   .string();
    }
    ~MemoryFile() { std::filesystem::remove(path); }
    MemoryFile(const MemoryFile&) = delete;
    MemoryFile& operator=(const MemoryFile&) = delete;
    std::string path;
};

}  // namespace

TEST_CASE("settings are in the ranges of PROTOCOL.md, and refused outside them") {
    WireHost host;
    host.connect();
    struct Range {
        std::uint8_t key;
        std::uint8_t indices;
        std::uint16_t least, most, first;
    };
    // PROTOCOL.md, section 12
    const std::vector<Range> ranges{
        {1, 4, 1, 1023, 60}, {2, 4, 5, 200, 50}, {3, 4, 5, 500, 60}, {4, 1, 1, 20, 5}, {5, 6, 0, 500, 20}};
    for (const Range& range : ranges) {
        CAPTURE(int{range.key});
        for (std::uint8_t index = 0; index < range.indices; ++index) {
            auto now = host.get(range.key, index);
            REQUIRE(now);
            CHECK(now->as.setting.status == WIRE_SETTING_OK);
            CHECK(now->as.setting.value == range.first);
            for (const std::uint16_t good : {range.least, range.most}) {
                now = host.set(range.key, index, good);
                REQUIRE(now);
                CHECK(now->as.setting.key == range.key);
                CHECK(now->as.setting.index == index);
                CHECK(now->as.setting.status == WIRE_SETTING_OK);
                CHECK(now->as.setting.value == good);
            }
            now = host.set(range.key, index, static_cast<std::uint16_t>(range.most + 1));
            REQUIRE(now);
            CHECK(now->as.setting.status == WIRE_SETTING_OUT_OF_RANGE);
            CHECK(now->as.setting.value == range.most);
        }
        const auto none = host.get(range.key, range.indices);
        REQUIRE(none);
        CHECK(none->as.setting.status == WIRE_SETTING_UNKNOWN);
        CHECK(none->as.setting.value == 0);
    }
    for (const std::uint8_t key : std::initializer_list<std::uint8_t>{0, 6, 99}) {
        const auto none = host.set(key, 0, 10);
        REQUIRE(none);
        CHECK(none->as.setting.status == WIRE_SETTING_UNKNOWN);
    }
}

TEST_CASE("settings and identity survive switching off, the boot id does not repeat") {
    const MemoryFile memory;
    std::uint64_t board = 0;
    std::vector<std::uint32_t> boots;
    {
        WireHost host(1, memory.path);
        const wire_message hello = host.connect();
        board = hello.as.hello.board;
        boots.push_back(hello.as.hello.boot);
        host.set(WIRE_SETTING_PAD_THRESHOLD, 2, 345);
        host.set(WIRE_SETTING_GATE_DEBOUNCE, 4, 7);
        host.run_for(1000);
        host.board.finish();
    }
    for (int round = 0; round < 3; ++round) {
        WireHost host(1, memory.path);  // the same noise again: the count alone must tell the boots apart
        const wire_message hello = host.connect();
        CHECK(hello.as.hello.board == board);
        for (const std::uint32_t earlier : boots) CHECK(hello.as.hello.boot != earlier);
        boots.push_back(hello.as.hello.boot);
        CHECK(host.get(WIRE_SETTING_PAD_THRESHOLD, 2)->as.setting.value == 345);
        CHECK(host.get(WIRE_SETTING_GATE_DEBOUNCE, 4)->as.setting.value == 7);
        CHECK(host.get(WIRE_SETTING_PAD_THRESHOLD, 1)->as.setting.value == 60);
        host.board.finish();
    }
    WireHost other(2);
    CHECK(other.connect().as.hello.board != board);
}

TEST_CASE("a spoilt copy of the settings is passed over: the older one holds, or the first values") {
    const MemoryFile memory;
    {
        WireHost host(1, memory.path);
        host.connect();
        host.set(WIRE_SETTING_CROSSTALK, 0, 8);
        host.run_for(1000);
        host.set(WIRE_SETTING_CROSSTALK, 0, 9);
        host.run_for(1000);
        host.board.finish();
    }
    const auto spoil = [&memory](std::size_t at) {
        std::fstream file(memory.path, std::ios::in | std::ios::out | std::ios::binary);
        file.seekp(static_cast<std::streamoff>(at));
        file.put('\x55');
        file.put('\x55');
    };
    // The places are those of firmware/memory_map.h: the first change goes to the second copy, the next to the first.
    spoil(64 + 5);
    {
        WireHost host(1, memory.path);
        host.connect();
        CHECK(host.get(WIRE_SETTING_CROSSTALK, 0)->as.setting.value == 8);
        host.board.finish();
    }
    spoil(160 + 5);
    {
        WireHost host(1, memory.path);
        host.connect();
        CHECK(host.get(WIRE_SETTING_CROSSTALK, 0)->as.setting.value == 5);
        host.board.finish();
    }
}

TEST_CASE("a reset in the middle starts a new boot: no orders, no events, lamps dark, leave needed again") {
    WireHost host;
    host.connect();
    const std::uint32_t before = host.boot();
    wire_message order = message_of(WIRE_LAMP_ORDER);
    const auto now = static_cast<std::uint64_t>(host.ticks_at(host.board.cycle()));
    order.as.lamp_order = {before, 1, now + 40'000, 1, 1};
    host.send(order);
    order.as.lamp_order = {before, 2, now + 400'000, 2, 2};
    host.send(order);
    host.board.gate(host.board.cycle() + 5 * cycles_per_ms, 3, true);
    host.run_for(50);
    CHECK(host.board.lamps().back().lit == 1);
    host.board.command("reset +0");
    host.run_for(1);
    CHECK(host.board.lamps().back().lit == 0);
    host.heard.clear();
    const auto hello = host.wait_for(WIRE_HELLO, 1000);
    REQUIRE(hello);
    CHECK(hello->message.as.hello.boot != before);
    CHECK(hello->message.as.hello.newest == 0);
    const auto snapshot = host.wait_for(WIRE_SNAPSHOT, 100);
    REQUIRE(snapshot);
    CHECK(snapshot->message.as.snapshot.gates_broken == 0b1000);
    CHECK(snapshot->message.as.snapshot.lamps_lit == 0);
    host.board.gate(host.board.cycle() + 5 * cycles_per_ms, 3, false);
    host.run_for(400);
    CHECK(host.events().empty());
    CHECK(host.board.boots().size() == 2);
    CHECK(host.board.boots().back().cause == "reset");
}

TEST_CASE("the watchdog starts a program that hangs again, and counts it from boot to boot") {
    const MemoryFile memory;
    {
        WireHost host(1, memory.path);
        host.connect();
        host.run_for(1000);
        REQUIRE(host.board.boots().size() == 1);  // it does not bite a healthy program
        host.board.command("hang +0");
        host.run_for(600);
        REQUIRE(host.board.boots().size() == 2);
        CHECK(host.board.boots().back().cause == "watchdog");
        host.connect();
        host.send(message_of(WIRE_COUNTERS_REQUEST));
        CHECK(host.wait_for(WIRE_COUNTERS, 100)->message.as.counters.values[WIRE_COUNT_WATCHDOG] == 1);
        host.board.finish();
    }
    WireHost host(1, memory.path);
    host.connect();
    host.send(message_of(WIRE_COUNTERS_REQUEST));
    CHECK(host.wait_for(WIRE_COUNTERS, 100)->message.as.counters.values[WIRE_COUNT_WATCHDOG] == 1);
}

TEST_CASE("frames back to back at the full rate of the line are all taken, in the bursts a host may send") {
    WireHost host;
    host.connect();
    // PROTOCOL.md, section 1: 16 frames in any 10 ms. Here each is answered, while all gates chatter.
    unsigned answered = 0;
    for (int burst = 0; burst < 20; ++burst) {
        for (unsigned gate = 0; gate < 6; ++gate) {
            host.board.gate(host.board.cycle() + (100 + 37 * gate) * cycles_per_us, gate, burst % 2 == 0);
        }
        host.heard.clear();
        for (std::uint8_t i = 0; i < 16; ++i) {
            wire_message get = message_of(WIRE_SETTING_GET);
            get.as.setting = {1, static_cast<std::uint8_t>(i % 4), 0, 0};
            host.send(get);
        }
        host.run_for(12);
        for (const Heard& one : host.heard) answered += one.message.type == WIRE_SETTING_VALUE ? 1 : 0;
        host.acknowledge(static_cast<std::uint16_t>(6 * (burst + 1)));
    }
    CHECK(answered == 320);
    host.send(message_of(WIRE_COUNTERS_REQUEST));
    const auto counters = host.wait_for(WIRE_COUNTERS, 100);
    REQUIRE(counters);
    CHECK(counters->message.as.counters.values[WIRE_COUNT_FRAMES_REJECTED] == 0);
    CHECK(counters->message.as.counters.values[WIRE_COUNT_RECEIVE_OVERRUN] == 0);
    host.board.finish();
    CHECK(host.board.deepest_receiver() <= 2);  // what the controller's receiver holds before a byte is lost
}

TEST_CASE("sixteen lamp orders wait, the seventeenth is refused, and all are taken back at once") {
    WireHost host;
    host.connect();
    const auto now = static_cast<std::uint64_t>(host.ticks_at(host.board.cycle()));
    for (std::uint16_t id = 1; id <= 17; ++id) {
        wire_message order = message_of(WIRE_LAMP_ORDER);
        order.as.lamp_order = {host.boot(), id, now + 4'000'000 - 1000ULL * id, 1, 1};
        host.send(order);
        host.run_for(1);
    }
    host.run_for(20);
    auto events = host.events();
    REQUIRE(events.size() == 1);
    CHECK(events[0].type == WIRE_LAMP_REFUSED);
    CHECK(events[0].as.lamp.order == 17);
    CHECK(events[0].as.lamp.reason == WIRE_REFUSED_QUEUE_FULL);
    host.acknowledge(1);
    wire_message cancel = message_of(WIRE_LAMP_CANCEL);
    cancel.as.lamp_cancel = {host.boot(), 65535};
    host.send(cancel);
    host.run_for(50);
    events = host.events();
    CHECK(events.size() == 17);
    for (std::size_t i = 1; i < events.size(); ++i) CHECK(events[i].type == WIRE_LAMP_CANCELLED);
    host.run_for(3000);
    CHECK(host.board.lamps().empty());
}

TEST_CASE("lamp orders that cannot be carried out are refused with their reason, and repeats are answered once more") {
    WireHost host;
    host.connect();
    const auto now = static_cast<std::uint64_t>(host.ticks_at(host.board.cycle()));
    const auto order = [&host](std::uint16_t id, std::uint64_t at, std::uint8_t affected) {
        wire_message message = message_of(WIRE_LAMP_ORDER);
        message.as.lamp_order = {host.boot(), id, at, affected, affected};
        host.send(message);
        host.run_for(5);
    };
    order(0, now + 100'000, 1);
    order(65535, now + 100'000, 1);
    order(1, now + 100'000, 0x10);  // no such lamp
    order(2, now, 1);
    order(3, now + 130'000'000, 1);
    order(4, now + 100'000, 1);
    order(4, now + 100'000, 1);
    order(2, now, 1);
    const auto events = host.events();
    REQUIRE(events.size() == 3);
    CHECK(events[0].as.lamp.reason == WIRE_REFUSED_NO_LAMP);
    CHECK(events[1].as.lamp.reason == WIRE_REFUSED_TOO_LATE);
    CHECK(events[2].as.lamp.reason == WIRE_REFUSED_TOO_FAR);
    std::size_t accepted = 0;
    for (const Heard& one : host.heard) {
        if (one.message.type != WIRE_LAMP_ACCEPTED) continue;
        ++accepted;
        CHECK(one.message.as.lamp_accepted.order == 4);
    }
    CHECK(accepted == 2);
    host.run_for(60);
    order(4, now + 100'000, 1);  // carried out meanwhile: accepted, not done again
    host.run_for(60);
    accepted = 0;
    for (const Heard& one : host.heard) accepted += one.message.type == WIRE_LAMP_ACCEPTED ? 1 : 0;
    CHECK(accepted == 3);
    CHECK(host.events().size() == 4);
}
