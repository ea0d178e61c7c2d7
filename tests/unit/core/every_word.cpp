// Whatever the journal may hold has a word: a value without one would be written as "unknown" and never be read again.
#include <doctest/doctest.h>

#include "core/journal/codec.hpp"
#include "core/trade/vocabulary.hpp"

using namespace breakstep;

namespace {

template <class Enum>
void each_has_a_word(const char* what) {
    for (int value = 0; value <= last_of<Enum>; ++value) {
        CAPTURE(what);
        CAPTURE(value);
        const auto text = word(static_cast<Enum>(value));
        CHECK(text != "unknown");
        CHECK(from_word<Enum>(text) == static_cast<Enum>(value));
    }
}

}  // namespace

TEST_CASE("every value that the journal may hold has a word, and is read by it") {
    each_has_a_word<VoidReason>("void reason");
    each_has_a_word<SessionEnd>("session end");
    each_has_a_word<StartKind>("start");
    each_has_a_word<AttackKind>("attack");
    each_has_a_word<Phase>("phase");
    each_has_a_word<Moment>("moment");
    each_has_a_word<PadRole>("pad");
    each_has_a_word<GateRole>("gate");
}
