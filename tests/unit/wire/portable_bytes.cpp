// The byte order of the wire where a number can't be copied whole: the shifting way gives the same bytes and numbers.
#include <doctest/doctest.h>

#include <array>

#include "core/random.hpp"

#define WIRE_PORTABLE_BYTES
#include "wire/bytes.h"

using Eight = std::array<std::uint8_t, 8>;

TEST_CASE("numbers are put little-endian, whatever the machine") {
    // Little-endian by definition: the least significant byte first.
    const std::uint64_t number = 0x0807060504030201;
    const auto low32 = static_cast<std::uint32_t>(number);
    const auto low16 = static_cast<std::uint16_t>(number);
    Eight out{};
    CHECK(wire_put64(out.data(), &number) == out.data() + 8);
    CHECK(out == Eight{1, 2, 3, 4, 5, 6, 7, 8});
    out.fill(0);
    CHECK(wire_put48(out.data(), &number) == out.data() + 6);
    CHECK(out == Eight{1, 2, 3, 4, 5, 6, 0, 0});
    out.fill(0);
    CHECK(wire_put32(out.data(), &low32) == out.data() + 4);
    CHECK(out == Eight{1, 2, 3, 4, 0, 0, 0, 0});
    out.fill(0);
    CHECK(wire_put16(out.data(), &low16) == out.data() + 2);
    CHECK(out == Eight{1, 2, 0, 0, 0, 0, 0, 0});
}

TEST_CASE("numbers put are taken back, whatever the machine") {
    breakstep::Random random(21);
    for (int i = 0; i < 10'000; ++i) {
        const std::uint64_t number = (static_cast<std::uint64_t>(random.next()) << 32) | random.next();
        const auto low32 = static_cast<std::uint32_t>(number);
        const auto low16 = static_cast<std::uint16_t>(number);
        Eight out{};
        std::uint64_t back64 = 0;
        std::uint32_t back32 = 0;
        std::uint16_t back16 = 0;
        wire_put64(out.data(), &number);
        wire_take64(out.data(), &back64);
        REQUIRE(back64 == number);
        wire_take48(out.data(), &back64);
        REQUIRE(back64 == (number & 0xFFFF'FFFF'FFFF));
        wire_put32(out.data(), &low32);
        wire_take32(out.data(), &back32);
        REQUIRE(back32 == low32);
        wire_put16(out.data(), &low16);
        wire_take16(out.data(), &back16);
        REQUIRE(back16 == low16);
    }
}
