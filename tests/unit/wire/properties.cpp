// What must hold for any message and any bytes: round trips, damage, resynchronisation. Seeds are fixed and printed by
// doctest's CAPTURE where a check fails.
#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cstring>

#include "message_text.hpp"
#include "wire/crc32.h"

using namespace breakstep;
using namespace breakstep::wire_test;

namespace {

Bytes operator+(Bytes head, const Bytes& tail) {
    head.insert(head.end(), tail.begin(), tail.end());
    return head;
}

Bytes random_bytes(Random& random, std::uint32_t size) {
    Bytes bytes(size);
    for (auto& byte : bytes) byte = static_cast<std::uint8_t>(random.below(256));
    return bytes;
}

/// Garbage that holds no true frame: random, then read once to make sure.
Bytes garbage(Random& random, std::uint32_t size) {
    for (;;) {
        Bytes bytes = random_bytes(random, size);
        if (heard_in(bytes + Bytes{0}).messages.empty()) return bytes;
    }
}

}  // namespace

TEST_CASE("any message comes back as itself, in a frame without a zero but its last") {
    Random random(11);
    for (int i = 0; i < 200'000; ++i) {
        const wire_message message = random_message(random);
        const Bytes frame = frame_of(message);
        CAPTURE(text_from(message));
        REQUIRE(frame.size() >= 7);
        REQUIRE(frame.size() <= WIRE_FRAME_MAX);
        REQUIRE(std::find(frame.begin(), frame.end(), 0) == frame.end() - 1);
        const Heard heard = heard_in(frame);
        REQUIRE(heard.messages.size() == 1);
        REQUIRE(same(heard.messages[0], message));
    }
}

TEST_CASE("a message without a type of this version is not written") {
    wire_message message{};
    int written = 0;
    for (unsigned type = 0; type < 256; ++type) {
        message.type = static_cast<std::uint8_t>(type);
        const auto known = all_types();
        const bool is_known = std::find(known.begin(), known.end(), message.type) != known.end();
        CHECK(frame_of(message).empty() != is_known);
        written += is_known;
    }
    CHECK(written == 26);
}

TEST_CASE("a payload is read at its full length or longer, never shorter") {
    Random random(12);
    for (const std::uint8_t type : all_types()) {
        CAPTURE(type);
        const wire_message message = random_message(random, type);
        Bytes payload(WIRE_PAYLOAD_MAX, 0xA5);
        const std::size_t size = wire_encode_payload(&message, payload.data());
        wire_message read{};
        for (std::size_t given = 0; given <= WIRE_PAYLOAD_MAX; ++given) {
            const bool taken = wire_decode_payload(payload.data(), given, &read);
            CHECK(taken == (given >= size));
            if (taken) CHECK(same(read, message));
        }
    }
}

TEST_CASE("a time past 48 bits is cut to them") {
    wire_message message{};
    message.type = WIRE_SYNC_EDGE;
    message.time = (std::uint64_t{0xABCD} << 48) | 5;
    const Heard heard = heard_in(frame_of(message));
    REQUIRE(heard.messages.size() == 1);
    CHECK(heard.messages[0].time == 5);
}

TEST_CASE("one damaged byte, at any place and of any value, never yields another message") {
    Random random(13);
    const wire_message after = message_from_text("ping id=0x1234");
    const wire_message last = message_from_text("acknowledge boot=0xc0ffee01 through=40");
    for (int i = 0; i < 60; ++i) {
        const wire_message message =
            random_message(random, all_types()[static_cast<std::size_t>(i) % all_types().size()]);
        const Bytes frame = frame_of(message);
        for (std::size_t place = 0; place < frame.size(); ++place) {
            for (unsigned change = 1; change < 256; ++change) {
                Bytes damaged = frame;
                damaged[place] = static_cast<std::uint8_t>(damaged[place] ^ change);
                const Heard heard = heard_in(damaged + frame_of(after) + frame_of(last));
                // A damaged closing zero takes the next frame with it, anything else only its own.
                const bool closing = place + 1 == frame.size();
                CAPTURE(text_from(message));
                REQUIRE(heard.messages.size() == (closing ? 1 : 2));
                REQUIRE(same(heard.messages.back(), last));
                if (!closing) REQUIRE(same(heard.messages.front(), after));
                REQUIRE(heard.damaged >= 1);
            }
        }
    }
}

TEST_CASE("after any garbage the receiver is in step at the next zero") {
    Random random(14);
    for (int i = 0; i < 20'000; ++i) {
        const wire_message message = random_message(random);
        const Bytes stream = garbage(random, random.below(200)) + Bytes{0} + frame_of(message);
        const Heard heard = heard_in(stream);
        CAPTURE(text_from(message));
        REQUIRE(heard.messages.size() == 1);
        REQUIRE(same(heard.messages[0], message));
    }
}

TEST_CASE("a hole in the stream costs only the frames it touches") {
    Random random(15);
    for (int round = 0; round < 2'000; ++round) {
        std::vector<wire_message> messages;
        std::vector<std::size_t> ends;
        Bytes stream;
        for (int i = 0; i < 30; ++i) {
            messages.push_back(random_message(random));
            stream = stream + frame_of(messages.back());
            ends.push_back(stream.size());
        }
        const std::size_t from = random.below(static_cast<std::uint32_t>(stream.size()));
        const std::size_t to = std::min(stream.size(), from + 1 + random.below(60));
        Bytes holed = stream;
        holed.erase(holed.begin() + static_cast<std::ptrdiff_t>(from), holed.begin() + static_cast<std::ptrdiff_t>(to));

        std::vector<wire_message> untouched;
        std::size_t start = 0;
        for (std::size_t i = 0; i < messages.size(); ++i) {
            // If the zero before a frame is gone, the frame grows together with what was before the hole,
            // unless nothing was left of that.
            const bool before_joined = start == to && start > 0 && from > 0 && stream[from - 1] != 0;
            if ((ends[i] <= from || start >= to) && !before_joined) untouched.push_back(messages[i]);
            start = ends[i];
        }
        // What is left of two frames that the hole joins may again be one of them, whole (two equal heads), but nothing
        // that was never sent.
        std::size_t found = 0;
        for (const wire_message& heard : heard_in(holed).messages) {
            const auto is_heard = [&](const wire_message& sent) { return same(sent, heard); };
            REQUIRE(std::any_of(messages.begin(), messages.end(), is_heard));
            if (found < untouched.size() && is_heard(untouched[found])) ++found;
        }
        REQUIRE(found == untouched.size());
    }
}

TEST_CASE("a row without zeros of any length is one damaged frame") {
    for (std::size_t size = WIRE_FRAME_MAX; size < 700; ++size) {
        const Heard heard = heard_in(Bytes(size, 1) + Bytes{0} + frame_of(message_from_text("ping id=7")));
        REQUIRE(heard.damaged == 1);
        REQUIRE(heard.messages.size() == 1);
    }
}

TEST_CASE("zeros between frames are nothing") {
    const Bytes ping = frame_of(message_from_text("ping id=7"));
    const Heard heard = heard_in(Bytes(5, 0) + ping + Bytes(300, 0) + ping);
    CHECK(heard.messages.size() == 2);
    CHECK(heard.damaged + heard.unknown == 0);
}

TEST_CASE("too little for a payload and its CRC is damaged, not unknown") {
    // Four zero bytes are the true CRC of nothing.
    CHECK(wire_crc32(nullptr, 0) == 0);
    const Heard heard = heard_in(frame_of_payload({}));
    CHECK(heard.damaged == 1);
    CHECK(heard.unknown == 0);
    CHECK(heard_in({0x02, 0x81, 0x00}).damaged == 1);
}

TEST_CASE("a payload longer than 32 bytes is damaged, whatever its CRC says") {
    Random random(16);
    for (std::uint32_t size = 33; size < 60; ++size) {
        Bytes payload(size, 0x11);
        payload[0] = WIRE_PING;
        const Heard heard = heard_in(frame_of_payload(payload));
        CHECK(heard.damaged == 1);
        CHECK(heard.messages.empty());
    }
    Bytes longest(32, 0x11);
    longest[0] = WIRE_PING;
    CHECK(heard_in(frame_of_payload(longest)).messages.size() == 1);
}

TEST_CASE("a whole frame with more bytes before its zero is damaged, not read without them") {
    Bytes longest(32, 0x11);
    longest[0] = WIRE_PING;
    for (const Bytes& payload : {longest, Bytes{WIRE_PING, 1, 2}}) {
        const Bytes frame = frame_of_payload(payload);
        REQUIRE(heard_in(frame).messages.size() == 1);
        for (std::size_t more = 1; more < 300; ++more) {
            Bytes longer(frame.begin(), frame.end() - 1);
            longer.insert(longer.end(), more, 0x11);
            longer.push_back(0);
            const Heard heard = heard_in(longer);
            REQUIRE(heard.messages.empty());
            REQUIRE(heard.damaged == 1);
        }
    }
}

TEST_CASE("what a message does not carry is 0 after reading") {
    wire_message read;
    const auto read_into_ones = [&](const char* text) {
        const wire_message message = message_from_text(text);
        Bytes payload(WIRE_PAYLOAD_MAX);
        payload.resize(wire_encode_payload(&message, payload.data()));
        std::memset(&read, 0xFF, sizeof read);
        REQUIRE(wire_decode_payload(payload.data(), payload.size(), &read));
    };
    read_into_ones("ping id=7");
    CHECK(read.sequence == 0);
    CHECK(read.time == 0);
    read_into_ones("lamp_refused sequence=7 time=6100000 order=2 reason=1");
    CHECK(read.as.lamp.lit == 0);
    read_into_ones("setting_get key=2 index=0");
    CHECK(read.as.setting.status == 0);
    CHECK(read.as.setting.value == 0);
}

TEST_CASE("the receiver writes nothing beside itself, and a message only when it says so") {
    struct Fenced {
        std::array<std::uint8_t, 64> before;
        wire_receiver receiver;
        std::array<std::uint8_t, 64> between;
        wire_message message;
        std::array<std::uint8_t, 64> after;
    };
    Random random(17);
    Fenced fenced;
    std::memset(&fenced, 0x5A, sizeof fenced);
    fenced.receiver = wire_receiver{};
    wire_message untouched;
    std::memset(&untouched, 0x5A, sizeof untouched);
    const auto whole = [](const auto& fence) {
        return std::all_of(fence.begin(), fence.end(), [](std::uint8_t byte) { return byte == 0x5A; });
    };
    for (int i = 0; i < 3'000'000; ++i) {
        // Zeros often enough that frames of every length end.
        const auto byte = random.below(12) == 0 ? std::uint8_t{0} : static_cast<std::uint8_t>(random.below(40));
        const auto said = wire_receive(&fenced.receiver, byte, &fenced.message);
        REQUIRE(fenced.receiver.size < WIRE_FRAME_MAX);
        if (said == WIRE_RECEIVED_MESSAGE) continue;
        REQUIRE(std::memcmp(&fenced.message, &untouched, sizeof untouched) == 0);
    }
    CHECK(whole(fenced.before));
    CHECK(whole(fenced.between));
    CHECK(whole(fenced.after));
}

TEST_CASE("frames and payloads are written inside their bounds") {
    Random random(18);
    for (int i = 0; i < 20'000; ++i) {
        const wire_message message = random_message(random);
        std::array<std::uint8_t, WIRE_FRAME_MAX + 32> out{};
        out.fill(0x5A);
        const std::size_t size = wire_encode_frame(&message, out.data());
        REQUIRE(std::all_of(out.begin() + static_cast<std::ptrdiff_t>(size), out.end(),
                            [](std::uint8_t byte) { return byte == 0x5A; }));
    }
}

TEST_CASE("the two ways to reckon the CRC agree for every length and alignment") {
    Random random(19);
    const Bytes bytes = random_bytes(random, 400);
    for (std::size_t offset = 0; offset < 8; ++offset)
        for (std::size_t size = 0; size + offset <= bytes.size(); ++size)
            REQUIRE(wire_crc32_sliced(bytes.data() + offset, size) == wire_crc32_nibble(bytes.data() + offset, size));
}
