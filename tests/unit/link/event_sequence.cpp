// The sequence alone: against a plain model of what must come out, for many orders of arrival.
#include <doctest/doctest.h>

#include <algorithm>
#include <set>

#include "core/random.hpp"
#include "link/event_sequence.hpp"

namespace breakstep::test {
namespace {

wire_message event_of(std::uint16_t sequence) {
    wire_message event{};
    event.type = WIRE_PAD_HIT;
    event.sequence = sequence;
    return event;
}

/// What came out, as numbers; a hole as the negative of its count.
std::vector<int> out_of(EventSequence& sequence) {
    std::vector<EventSequence::Item> items;
    sequence.take(items);
    std::vector<int> out;
    for (const EventSequence::Item& item : items) {
        if (const auto* event = std::get_if<wire_message>(&item)) out.push_back(event->sequence);
        if (const auto* lost = std::get_if<LostSpan>(&item)) out.push_back(-int{lost->count()});
    }
    return out;
}

using Out = std::vector<int>;
using Taken = EventSequence::Taken;

TEST_CASE("events come out in sequence, whatever the order they came in") {
    EventSequence sequence(30ms);
    sequence.begin(0);
    CHECK(sequence.receive(event_of(1)) == Taken::in_sequence);
    CHECK(sequence.receive(event_of(3)) == Taken::held);
    CHECK(sequence.receive(event_of(3)) == Taken::doubled);
    CHECK(sequence.receive(event_of(1)) == Taken::doubled);
    CHECK(out_of(sequence) == Out{1});
    CHECK(sequence.receive(event_of(2)) == Taken::in_sequence);
    CHECK(out_of(sequence) == Out{2, 3});
}

TEST_CASE("only what is missing is asked for, at once, and again after the repeat") {
    EventSequence sequence(30ms);
    sequence.begin(10);
    for (const int n : {11, 13, 14, 17}) sequence.receive(event_of(static_cast<std::uint16_t>(n)));
    std::vector<EventSequence::Ask> asks;
    sequence.ask(HostTime{1s}, asks);
    REQUIRE(asks.size() == 2);
    CHECK(asks[0].first == 12);
    CHECK(asks[0].count == 1);
    CHECK(asks[1].first == 15);
    CHECK(asks[1].count == 2);
    // Nothing new: not asked again before its time.
    asks.clear();
    sequence.ask(HostTime{1s + 20ms}, asks);
    CHECK(asks.empty());
    CHECK(sequence.next_ask() == HostTime{1s + 30ms});
    // A hole found meanwhile is asked for at once.
    sequence.receive(event_of(19));
    sequence.ask(HostTime{1s + 25ms}, asks);
    REQUIRE(asks.size() == 1);
    CHECK(asks[0].first == 18);
    asks.clear();
    sequence.ask(HostTime{1s + 55ms}, asks);
    CHECK(asks.size() == 3);
    CHECK(sequence.is_unanswered());
}

TEST_CASE("at most sixteen are asked for at once") {
    EventSequence sequence(30ms);
    sequence.begin(0);
    sequence.newest_is(500);
    std::vector<EventSequence::Ask> asks;
    sequence.ask(HostTime{1s}, asks);
    REQUIRE(asks.size() == 1);
    CHECK(asks[0].count == 16);
}

TEST_CASE("overwritten events are a hole, those of them that had come are told all the same") {
    EventSequence sequence(30ms);
    sequence.begin(4);
    sequence.receive(event_of(7));
    sequence.receive(event_of(12));
    CHECK(sequence.overwritten(5, 9));
    CHECK(out_of(sequence) == Out{-2, 7, -2});
    CHECK(sequence.receive(event_of(8)) == Taken::doubled);
    CHECK_FALSE(sequence.overwritten(5, 9));    // told before
    CHECK_FALSE(sequence.overwritten(11, 11));  // 10 is still open
    CHECK_FALSE(sequence.overwritten(10, 13));  // 13 is not known to exist
    CHECK(sequence.overwritten(10, 11));
    CHECK(out_of(sequence) == Out{-2, 12});
}

TEST_CASE("what never came is known at the end") {
    EventSequence sequence(30ms);
    sequence.begin(65534);
    sequence.receive(event_of(0));
    sequence.newest_is(3);
    sequence.let_go();
    CHECK(out_of(sequence) == Out{-1, 0});
    REQUIRE(sequence.rest().has_value());
    CHECK(sequence.rest()->first == 1);
    CHECK(sequence.rest()->last == 3);
}

TEST_CASE("an event too far ahead is asked for when its turn comes") {
    EventSequence sequence(30ms);
    sequence.begin(0);
    CHECK(sequence.receive(event_of(300)) == Taken::too_far);
    std::vector<int> out;
    HostTime now{1s};
    for (int round = 0; round < 100 && out.size() < 300; ++round) {
        std::vector<EventSequence::Ask> asks;
        sequence.ask(now, asks);
        for (const EventSequence::Ask& ask : asks) {
            for (std::uint16_t i = 0; i < ask.count; ++i) {
                sequence.receive(event_of(static_cast<std::uint16_t>(ask.first + i)));
            }
        }
        for (const int n : out_of(sequence)) out.push_back(n);
        now += 1ms;
    }
    REQUIRE(out.size() == 300);
    CHECK(std::is_sorted(out.begin(), out.end()));
    CHECK(out.back() == 300);
}

TEST_CASE("whatever is lost, doubled and swapped, every event comes out once and in order") {
    for (std::uint64_t seed = 1; seed <= 200; ++seed) {
        CAPTURE(seed);
        Random random(seed);
        EventSequence sequence(30ms);
        auto start = static_cast<std::uint16_t>(65535 - random.below(300));
        sequence.begin(start);
        std::vector<std::uint16_t> line;
        for (std::uint16_t i = 1; i <= 300; ++i) line.push_back(static_cast<std::uint16_t>(start + i));
        HostTime now{1s};
        std::vector<int> out;
        std::size_t next = 0;
        while (out.size() < 300) {
            now += 5ms;
            std::vector<std::uint16_t> coming;
            for (int i = 0; i < 5 && next < line.size(); ++i) coming.push_back(line[next++]);
            std::vector<EventSequence::Ask> asks;
            sequence.ask(now, asks);
            for (const EventSequence::Ask& ask : asks) {
                REQUIRE(ask.count <= 16);
                for (std::uint16_t i = 0; i < ask.count; ++i)
                    coming.push_back(static_cast<std::uint16_t>(ask.first + i));
            }
            if (next == line.size()) sequence.newest_is(line.back());
            if (random.chance(0.2)) random.shuffle(coming);
            for (const std::uint16_t n : coming) {
                if (random.chance(0.3)) continue;
                sequence.receive(event_of(n));
                if (random.chance(0.1)) CHECK(sequence.receive(event_of(n)) == Taken::doubled);
            }
            for (const int n : out_of(sequence)) out.push_back(n);
            REQUIRE(now < HostTime{60s});
        }
        for (std::size_t i = 0; i < out.size(); ++i) REQUIRE(out[i] == int{line[i]});
    }
}

}  // namespace
}  // namespace breakstep::test
