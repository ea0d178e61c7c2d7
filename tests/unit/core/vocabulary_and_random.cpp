#include <doctest/doctest.h>

#include "core/random.hpp"
#include "core/trade/vocabulary.hpp"

using namespace breakstep;

TEST_CASE("every word of the vocabulary reads back as itself") {
    for (int i = 0; i <= static_cast<int>(Verdict::void_rep); ++i) {
        const auto verdict = static_cast<Verdict>(i);
        CHECK(word(verdict) != "unknown");
        CHECK(from_word<Verdict>(word(verdict)) == verdict);
    }
    for (int i = 0; i <= static_cast<int>(Phase::up_or_pull_back); ++i)
        CHECK(from_word<Phase>(word(static_cast<Phase>(i))) == static_cast<Phase>(i));
    for (int i = 0; i <= static_cast<int>(CameKind::impossible); ++i)
        CHECK(from_word<CameKind>(word(static_cast<CameKind>(i))) == static_cast<CameKind>(i));
    for (int i = 0; i <= static_cast<int>(StartKind::retreated_from); ++i)
        CHECK(from_word<StartKind>(word(static_cast<StartKind>(i))) == static_cast<StartKind>(i));
    for (int i = 1; i <= static_cast<int>(Impossible::flickering); ++i)
        CHECK(reason(static_cast<Impossible>(i)) != "unknown");
    CHECK_FALSE(from_word<Phase>("kick").has_value());
}

TEST_CASE("the generator gives the published PCG32 sequence") {
    // pcg32-demo of the PCG reference code, seed 42, stream 54 (from memory).
    Random random(42, 54);
    for (const std::uint32_t expected : {0xa15c02b7U, 0x7b47f409U, 0xba1d3330U, 0x83d2f293U, 0xbfa4784bU, 0xcbed606eU})
        CHECK(random.next() == expected);
}
