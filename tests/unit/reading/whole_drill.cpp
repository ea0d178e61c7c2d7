// A whole drill: streams and weights, intervals cut and void, the sign and its reason.
#include <doctest/doctest.h>

#include <cmath>
#include <string>
#include <vector>

#include "allocations.hpp"
#include "core/random.hpp"
#include "core/reading/drill_reading.hpp"
#include "core/reading/seconds.hpp"

using namespace breakstep;
using namespace breakstep::reading;

namespace {

constexpr BootId boot{7};

TargetTime at(double seconds) { return {boot, duration_from(seconds)}; }

DrillReadingSettings only_entries() {
    DrillReadingSettings settings;
    settings.clocks = {true, false, false};
    return settings;
}

/// Enters every `beat` seconds, `count` times, and leaves 0.3 s later; gives the last read.
EntryRead enter(DrillReading& drill, double from, double beat, int count) {
    EntryRead read;
    for (int i = 0; i < count; ++i) {
        read = drill.entry(at(from + beat * i));
        drill.left(at(from + beat * i + 0.3));
    }
    return read;
}

}  // namespace

TEST_CASE("streams that a drill can't have are left out, and the rest is scaled to 1") {
    DrillReadingSettings settings;
    settings.labels[static_cast<std::size_t>(Stream::retreat) - clock_count] = {"none", "one", "two", "three or more"};
    const DrillReading drill(settings);
    CHECK(drill.weight(Stream::entry) == doctest::Approx(.30 / .66));
    CHECK(drill.weight(Stream::out) == doctest::Approx(.20 / .66));
    CHECK(drill.weight(Stream::in) == 0);
    CHECK(drill.weight(Stream::retreat) == doctest::Approx(.16 / .66));
    CHECK(drill.weight(Stream::side) == 0);
    CHECK(drill.wealth() == doctest::Approx(1.0));
    CHECK(drill.choice(Stream::side) == nullptr);
    CHECK(drill.clock(Stream::in) == nullptr);
}

TEST_CASE("a drill of entries alone gives the wealth of the tempo test, hunch and tell at the entry that tipped it") {
    DrillReading drill(only_entries());
    double time = 10;
    std::vector<double> wealth;
    std::vector<Sign> raised;
    drill.entry(at(time));
    for (const double interval : {.82, .79, .85, .80, .83, .78}) {
        const EntryRead read = drill.entry(at(time += interval));
        wealth.push_back(read.wealth);
        raised.push_back(read.raised ? read.raised->sign : Sign::none);
    }
    CHECK(std::abs(wealth[3] - 17.834144) < 5.1e-7);
    CHECK(std::abs(wealth[4] - 72.820839) < 5.1e-7);
    CHECK(raised == std::vector<Sign>{Sign::none, Sign::none, Sign::none, Sign::hunch, Sign::tell, Sign::none});
    REQUIRE(drill.reason().has_value());
    CHECK(drill.reason()->cause == "one beat");
    CHECK(drill.reason()->words == "same beat: 0.82 s, give or take 3 %, five entries");
    CHECK(drill.reason()->nudge == "same beat: 0.8 s, five times");
    CHECK(drill.last_intervals(3).size() == 3);
    CHECK(drill.last_intervals(3).back() == 780ms);
    CHECK(drill.sign() == Sign::tell);
}

TEST_CASE("the shortest interval follows the athlete's own in-times") {
    DrillReading drill(only_entries());
    CHECK_FALSE(drill.knows_in_times());
    CHECK(drill.shortest_entry() == 400ms);
    drill.entry(at(1));
    drill.left(at(1.35));
    CHECK(drill.knows_in_times());
    CHECK(drill.shortest_entry() == 500ms);  // 0.15 + 0.35
    drill.entry(at(2));
    drill.left(at(2.10));
    CHECK(drill.shortest_entry() == 400ms);  // 0.15 + 0.225 is less than 0.40
}

TEST_CASE("an attack fixed beforehand cuts the interval it falls into, and voids the one that begins during it") {
    DrillReading drill(only_entries());
    const std::vector<PlannedCue> cues{{at(5.0), at(5.8)}};
    drill.plan(cues, at(0));
    enter(drill, 1, 0.9, 4);  // last entry at 3.7
    const EntryRead cut = drill.entry(at(5.4));
    REQUIRE(cut.interval.has_value());
    CHECK(cut.interval->cut);
    CHECK_FALSE(cut.interval->voided);
    CHECK(cut.interval->length == 1300ms);
    CHECK_FALSE(cut.interval->caught);
    const EntryRead after = drill.entry(at(6.3));
    CHECK(after.interval->voided);
    const EntryRead later = drill.entry(at(7.2));
    CHECK_FALSE(later.interval->voided);
    CHECK_FALSE(later.interval->cut);
}

TEST_CASE("a window that the attack would have cut does not count, caught or not") {
    DrillReading drill(only_entries());
    enter(drill, 1, 0.9, 5);  // last at 4.6, the next expected at 5.5 +- 0.15
    const std::uint64_t before = drill.count().scored;
    const std::vector<PlannedCue> cues{{at(10.0), at(10.5)}};
    drill.plan(cues, at(4.6));
    const EntryRead free = drill.entry(at(5.5));
    CHECK(free.interval->voided);  // the attack was not planned when the interval began
    CHECK(drill.count().scored == before);
    CHECK(drill.entry(at(6.4)).interval->counted);

    DrillReading close(only_entries());
    const std::vector<PlannedCue> soon{{at(5.6), at(6.0)}};
    close.plan(soon, at(0));
    enter(close, 1, 0.9, 5);
    const std::uint64_t scored = close.count().scored;
    const EntryRead read = close.entry(at(5.5));
    CHECK(read.interval->caught);
    CHECK_FALSE(read.interval->counted);
    CHECK(close.count().scored == scored);
}

TEST_CASE("an attack that nobody fixed beforehand voids its interval") {
    DrillReading drill(only_entries());
    enter(drill, 1, 0.9, 3);
    const double before = drill.wealth();
    drill.unplanned(at(3.2), at(3.9));
    const EntryRead read = drill.entry(at(3.7));
    CHECK(read.interval->voided);
    CHECK(read.wealth == before);
    CHECK(drill.entry(at(4.6)).interval->voided);  // it began during the attack
}

TEST_CASE("where a coin decides, only intervals that may not be cued are bet on") {
    DrillReadingSettings settings = only_entries();
    settings.coin = true;
    DrillReading drill(settings);
    double time = 1;
    drill.entry(at(time));
    for (int i = 0; i < 10; ++i) {
        const EntryRead read = drill.entry(at(time += 0.9));
        CHECK(read.interval->voided);
    }
    CHECK(drill.wealth() == doctest::Approx(1.0));
    CHECK(drill.clock(Stream::entry)->history().size() == 10);  // the centres have learnt all the same
    for (int i = 0; i < 4; ++i) {
        drill.coin(false);
        CHECK_FALSE(drill.entry(at(time += 0.9)).interval->voided);
    }
    CHECK(drill.wealth() > 20);
}

TEST_CASE("the end of a set cuts what is open, a lost link voids it") {
    DrillReading drill(only_entries());
    enter(drill, 1, 0.9, 4);  // last at 3.7
    const double before = drill.wealth();
    drill.set_ended(at(6.0));
    CHECK(drill.wealth() < before);  // it did not come when expected
    const double ended = drill.wealth();
    CHECK_FALSE(drill.entry(at(60)).interval.has_value());
    drill.interrupted();
    CHECK_FALSE(drill.entry(at(61)).interval.has_value());
    CHECK(drill.wealth() == ended);
}

TEST_CASE("another boot of the rig starts anew") {
    DrillReading drill(only_entries());
    enter(drill, 1, 0.9, 4);
    const double before = drill.wealth();
    const TargetTime other(BootId{8}, 1s);
    const EntryRead read = drill.entry(other);
    CHECK_FALSE(read.interval.has_value());
    CHECK(read.wealth == before);
    CHECK_FALSE(drill.entry(other + 900ms).interval->voided);
}

TEST_CASE("a habit of retreats is told in a coach's words, at an entry") {
    DrillReadingSettings settings;
    settings.clocks = {true, false, false};
    settings.labels[static_cast<std::size_t>(Stream::retreat) - clock_count] = {"none", "one", "two", "three or more"};
    DrillReading drill(settings);
    double time = 1;
    Random random(3);
    EntryRead tipped;
    drill.entry(at(time));
    for (int i = 0; i < 40 && drill.sign() != Sign::tell; ++i) {
        drill.chose(Stream::retreat, static_cast<std::uint8_t>(i % 9 == 4 ? 1 : 2));
        const EntryRead read = drill.entry(at(time += 0.5 + random.exponential(1.5)));
        if (read.raised) tipped = read;
    }
    REQUIRE(tipped.raised);
    CHECK(tipped.raised->sign == Sign::tell);
    CHECK(tipped.raised->reason.stream == Stream::retreat);
    CHECK(tipped.raised->reason.cause == "after two retreats");
    CHECK(tipped.raised->reason.words.starts_with("after two retreats you go, "));
}

TEST_CASE("favourites, turns and patterns of choices each have their words") {
    const std::vector<std::string> sides{"left side", "right side"};
    ChoiceTest turns(2);
    for (int i = 0; i < 20; ++i) turns.look(static_cast<std::uint8_t>(i % 2));
    CHECK(choice_reason(Stream::side, turns, sides).words == "you alternate sides, 19 of 19");
    ChoiceTest favourite(2);
    Random random(4);
    for (int i = 0; i < 30; ++i) favourite.look(random.chance(0.85) ? 1 : 0);
    const Reason reason = choice_reason(Stream::pad, favourite, std::vector<std::string>{"low pad", "high pad"});
    CHECK(reason.words.starts_with("you favour the high pad, "));
    CHECK(reason.cause == "favourite pad");
    ChoiceTest pattern(3);
    for (int i = 0; i < 30; ++i) pattern.look(static_cast<std::uint8_t>(i % 3));
    CHECK(choice_reason(Stream::moment, pattern, {}).cause == "pattern of moments");
}

TEST_CASE("long-short and three-beat are named with their beats") {
    for (const TempoMethod method : {TempoMethod::plain, TempoMethod::tight}) {
        TempoTest two(method);
        TempoTest three(method);
        for (int i = 0; i < 12; ++i) {
            two.predict(400ms);
            two.entered(i % 2 == 0 ? 700ms : 1300ms);
            three.predict(400ms);
            three.entered(i % 3 == 2 ? 1400ms : 600ms);
        }
        CHECK(tempo_reason(Stream::entry, two).words == "long-short: 0.70, 1.30 s, over and over");
        CHECK(tempo_reason(Stream::entry, three).words == "three-beat: 0.60, 0.60, 1.40 s, over and over");
        CHECK(tempo_reason(Stream::out, three).words == "out of reach: three-beat: 0.60, 0.60, 1.40 s, over and over");
    }
}

TEST_CASE("what earlier sessions taught travels as text, and nonsense is refused") {
    KnownRhythms known;
    CHECK(to_text(known).empty());
    std::vector<std::vector<Duration>> sessions(2);
    for (auto& session : sessions)
        for (int i = 0; i < 20; ++i) session.push_back(i % 2 == 0 ? 700ms + 5ms * (i % 5) : 1300ms - 7ms * (i % 4));
    known.clocks[0] = learn_athlete(sessions, 400ms);
    CHECK(known.clocks[0].period == 2);
    CHECK(known.clocks[0].trust == 0.5);
    const std::string text = to_text(known);
    const auto back = known_rhythms_from(text);
    REQUIRE(back.has_value());
    CHECK(*back == known);
    CHECK(known_rhythms_from("").value() == KnownRhythms{});
    for (const std::string& bad :
         {std::string("x"), text + " 1", text.substr(0, text.size() / 2), std::string("rhythm 1 "),
          std::string("rhythm 1 2 9 .5 0 0 0 .1 .1 1 0 0 0 0 0 0 0||"),
          std::string("rhythm 1 2 1 nan 0 0 0 .1 .1 1 0 0 0 0 0 0 0||")})
        CHECK_FALSE(known_rhythms_from(bad).has_value());
}

TEST_CASE("whole drills of athletes who can't be timed or guessed are told in at most 5 of 100") {
    for (const ReadingMethod method : {ReadingMethod::plain, ReadingMethod::two_signs}) {
        constexpr int drills = 600;
        int told = 0;
        int read = 0;
        for (int number = 0; number < drills; ++number) {
            DrillReadingSettings settings;
            settings.method = method;
            settings.labels[static_cast<std::size_t>(Stream::side) - clock_count] = {"left side", "right side"};
            settings.labels[static_cast<std::size_t>(Stream::pad) - clock_count] = {"high pad", "low pad"};
            DrillReading drill(settings);
            Random random(99, static_cast<std::uint64_t>(number));
            std::vector<PlannedCue> cues;
            for (double onset = 3; onset < 60; onset += 1.7 + random.exponential(1.5))
                cues.push_back({at(onset), at(onset + 0.5)});
            drill.plan(cues, at(0));
            // Inside 0.3 s, out for 0.15 s and a memoryless time: both clocks are memoryless after their shortest.
            for (double time = 1; time < 60; time += 0.45 + random.exponential(0.7)) {
                drill.entry(at(time));
                drill.chose(Stream::side, static_cast<std::uint8_t>(random.below(2)));
                drill.chose(Stream::pad, static_cast<std::uint8_t>(random.below(2)));
                drill.went();
                drill.left(at(time + 0.3));
            }
            drill.set_ended(at(60));
            told += drill.sign() == Sign::tell ? 1 : 0;
            read += drill.sign(SignKind::read) == Sign::tell ? 1 : 0;
        }
        CHECK(told <= drills * 0.05);
        CHECK(read <= drills * 0.05);
    }
}

TEST_CASE("a long drill allocates nothing per entry") {
    DrillReadingSettings settings;
    settings.clocks = {true, true, true};
    settings.labels = {{{"none", "one", "two", "three or more"},
                        {"unbroken", "far", "back"},
                        {"left side", "right side"},
                        {"high pad", "low pad"},
                        {"lift", "gap", "drop"}}};
    DrillReading drill(settings);
    Random random(12);
    double time = 1;
    std::uint64_t after_warm_up = 0;
    for (int i = 0; i < 5'000; ++i) {
        if (i == 300) after_warm_up = test::allocations();
        drill.entry(at(time));
        for (const Stream stream : {Stream::retreat, Stream::depth, Stream::side, Stream::pad, Stream::moment})
            drill.chose(stream, static_cast<std::uint8_t>(random.below(2)));
        drill.left(at(time + 0.2 + 0.1 * random.unit()));
        time += 0.5 + random.exponential(0.8);
    }
    CHECK(drill.clock(Stream::entry)->history().size() == 4'999);
    CHECK(test::allocations() <= after_warm_up + 16);  // the words of a sign, once or twice
}
