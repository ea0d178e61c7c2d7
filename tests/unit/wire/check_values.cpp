// CRC-32 and COBS against values from outside, and the CRC against Boost's.
#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <boost/crc.hpp>
#include <cstdint>
#include <cstring>
#include <numeric>
#include <string_view>
#include <vector>

#include "core/random.hpp"
#include "wire/wire.h"

using namespace breakstep;

namespace {

using Bytes = std::vector<std::uint8_t>;

Bytes encoded(const Bytes& plain) {
    Bytes out(plain.size() + plain.size() / 254 + 1);
    out.resize(wire_cobs_encode(plain.data(), plain.size(), out.data()));
    return out;
}

/// The plain bytes, or {0xDE, 0xAD} where `stuffed` is not COBS; no test below has these as plain bytes.
Bytes decoded(const Bytes& stuffed) {
    Bytes out(stuffed.size());
    const std::size_t size = wire_cobs_decode(stuffed.data(), stuffed.size(), out.data());
    if (size == SIZE_MAX) return {0xDE, 0xAD};
    out.resize(size);
    return out;
}

Bytes counting(std::uint8_t first, std::size_t size) {
    Bytes bytes(size);
    std::iota(bytes.begin(), bytes.end(), first);
    return bytes;
}

Bytes joined(const Bytes& head, const Bytes& tail) {
    Bytes all = head;
    all.insert(all.end(), tail.begin(), tail.end());
    return all;
}

Bytes random_bytes(Random& random, std::size_t size, std::uint32_t zeros_in_ten) {
    Bytes bytes(size);
    for (auto& byte : bytes) byte = random.below(10) < zeros_in_ten ? 0 : static_cast<std::uint8_t>(random.below(256));
    return bytes;
}

}  // namespace

TEST_CASE("the CRC of 123456789 is the catalogue's") {
    // CRC-32/ISO-HDLC check value: catalogue of parametrised CRC algorithms (from memory).
    constexpr std::string_view check = "123456789";
    std::array<std::uint8_t, 9> bytes{};
    std::memcpy(bytes.data(), check.data(), check.size());
    CHECK(wire_crc32(bytes.data(), bytes.size()) == 0xCBF43926U);
    // The CRC of nothing: initial value and final XOR cancel out (by definition).
    CHECK(wire_crc32(bytes.data(), 0) == 0U);
}

TEST_CASE("the CRC is Boost's for every length") {
    Random random(1);
    for (std::size_t size = 0; size <= 300; ++size) {
        const Bytes bytes = random_bytes(random, size, 2);
        boost::crc_32_type oracle;
        oracle.process_bytes(bytes.data(), bytes.size());
        CHECK(wire_crc32(bytes.data(), bytes.size()) == oracle.checksum());
    }
}

TEST_CASE("COBS gives the published examples and reads them back") {
    // Cheshire & Baker 1999, "Consistent Overhead Byte Stuffing", IEEE/ACM Transactions on Networking 7(2) (from
    // memory).
    struct Example {
        Bytes plain, stuffed;
    };
    const Bytes run = counting(0x01, 254);  // 01 .. FE
    const std::vector<Example> examples = {
        {{0x00}, {0x01, 0x01}},
        {{0x00, 0x00}, {0x01, 0x01, 0x01}},
        {{0x11, 0x22, 0x00, 0x33}, {0x03, 0x11, 0x22, 0x02, 0x33}},
        {{0x11, 0x22, 0x33, 0x44}, {0x05, 0x11, 0x22, 0x33, 0x44}},
        {{0x11, 0x00, 0x00, 0x00}, {0x02, 0x11, 0x01, 0x01, 0x01}},
        {run, joined({0xFF}, run)},
        {joined({0x00}, run), joined({0x01, 0xFF}, run)},
    };
    for (const auto& [plain, stuffed] : examples) {
        CHECK(encoded(plain) == stuffed);
        CHECK(decoded(stuffed) == plain);
    }
}

TEST_CASE("COBS of any bytes has no zero, costs one byte in 254 and reads back, in place too") {
    Random random(2);
    for (std::size_t size = 0; size <= 1100; ++size) {
        const Bytes plain = random_bytes(random, size, static_cast<std::uint32_t>(size % 5));
        Bytes stuffed = encoded(plain);
        CHECK(std::count(stuffed.begin(), stuffed.end(), 0) == 0);
        CHECK(stuffed.size() <= size + size / 254 + 1);
        CHECK(decoded(stuffed) == plain);
        stuffed.resize(wire_cobs_decode(stuffed.data(), stuffed.size(), stuffed.data()));
        CHECK(stuffed == plain);
    }
}

TEST_CASE("what is not COBS is refused") {
    const Bytes refused = {0xDE, 0xAD};
    CHECK(decoded({}) == refused);
    CHECK(decoded({0x00}) == refused);
    CHECK(decoded({0x02}) == refused);                         // the group ends before its length
    CHECK(decoded({0x03, 0x11}) == refused);                   // the same, one byte short
    CHECK(decoded({0x03, 0x11, 0x00}) == refused);             // a zero inside a group
    CHECK(decoded({0x02, 0x11, 0x00}) == refused);             // a zero where a length must stand
    CHECK(decoded(joined({0xFF}, Bytes(253, 1))) == refused);  // one short of a full group
}
