// What the reading costs, in items a second: an event early in a drill and after a million of them, in one run; a whole
// drill; a list of 4 million intervals from CSV text. Claims: cost per event is flat to a million events; 100,000
// drills of 40 intervals take under 20 s on one core.
#include <benchmark/benchmark.h>

#include <cstdint>
#include <sstream>
#include <string>
#include <vector>

#include "cli/timeable/timeable.hpp"
#include "core/random.hpp"
#include "core/reading/choice_test.hpp"
#include "core/reading/drill_reading.hpp"
#include "core/reading/families.hpp"
#include "core/reading/seconds.hpp"
#include "core/reading/tempo_test.hpp"

using namespace breakstep;
using namespace breakstep::reading;

namespace {

constexpr std::size_t loop = 1U << 14U;

std::vector<Duration> intervals(Family family) {
    InventedAthlete athlete(family, 1, 1);
    std::vector<Duration> result(loop);
    for (Duration& interval : result) interval = duration_from(athlete.next());
    return result;
}

/// Each iteration goes on from a copy of what had seen so many events, so that early stays early.
constexpr std::size_t batch = 256;

/// Args: intervals seen before; the method.
void tempo_interval(benchmark::State& state) {
    const auto list = intervals(Family::exponential_middle);
    const auto run = [&](TempoTest& test, std::size_t from, std::size_t count) {
        for (std::size_t i = from; i < from + count; ++i) {
            test.predict(400ms);
            benchmark::DoNotOptimize(test.entered(list[i % loop]));
        }
    };
    const auto seen = static_cast<std::size_t>(state.range(0));
    TempoTest before(static_cast<TempoMethod>(state.range(1)));
    run(before, 0, seen);
    for (auto _ : state) {
        TempoTest test = before;
        run(test, seen, batch);
    }
    state.SetItemsProcessed(state.iterations() * static_cast<std::int64_t>(batch));
}

/// Arg: choices seen before.
void choice(benchmark::State& state) {
    Random random(2);
    std::vector<std::uint8_t> list(loop);
    for (auto& symbol : list) symbol = static_cast<std::uint8_t>(random.below(3));
    const auto run = [&](ChoiceTest& test, std::size_t from, std::size_t count) {
        for (std::size_t i = from; i < from + count; ++i) {
            test.look(list[i % loop]);
            benchmark::DoNotOptimize(test.guess());
        }
    };
    const auto seen = static_cast<std::size_t>(state.range(0));
    ChoiceTest before(3);
    run(before, 0, seen);
    for (auto _ : state) {
        ChoiceTest test = before;
        run(test, seen, batch);
    }
    state.SetItemsProcessed(state.iterations() * static_cast<std::int64_t>(batch));
}

/// An entry of a drill with every stream: two clocks, five choices, one judgement. Arg: entries seen before.
void drill_entry(benchmark::State& state) {
    DrillReadingSettings settings;
    settings.labels = {{{"none", "one", "two", "three or more"},
                        {"unbroken", "far", "back"},
                        {"left", "right"},
                        {"high", "low"},
                        {"lift", "gap", "drop"}}};
    const auto list = intervals(Family::exponential_middle);
    TargetTime now(BootId{1}, 1s);
    const auto run = [&](DrillReading& drill, std::size_t from, std::size_t count) {
        for (std::size_t i = from; i < from + count; ++i) {
            for (const Stream stream : {Stream::retreat, Stream::depth, Stream::side, Stream::pad, Stream::moment})
                drill.chose(stream, static_cast<std::uint8_t>(i % 2));
            now = now + list[i % loop];
            benchmark::DoNotOptimize(drill.entry(now).wealth);
            drill.left(now + 200ms);
        }
    };
    const auto seen = static_cast<std::size_t>(state.range(0));
    DrillReading before(settings);
    run(before, 0, seen);
    for (auto _ : state) {
        DrillReading drill = before;
        run(drill, seen, batch);
    }
    state.SetItemsProcessed(state.iterations() * static_cast<std::int64_t>(batch));
}

std::string drills_as_csv(std::int64_t drills) {
    std::string text;
    for (std::int64_t drill = 0; drill < drills; ++drill) {
        const auto family = drill % 2 == 0 ? Family::exponential_middle : Family::human_20;
        InventedAthlete athlete(family, 3, static_cast<std::uint64_t>(drill));
        for (int i = 0; i < 40; ++i) {
            if (i > 0) text += ',';
            text += std::to_string(athlete.next());
        }
        text += '\n';
    }
    return text;
}

/// Arg: drills of 40 intervals, read from CSV to lines of JSON.
void drills_from_csv(benchmark::State& state) {
    const std::string text = drills_as_csv(state.range(0));
    const std::vector<std::string> arguments{"-", "--rows", "intervals"};
    for (auto _ : state) {
        std::istringstream in(text);
        std::ostringstream out;
        std::ostringstream err;
        if (run_timeable(arguments, in, out, err) != 0) state.SkipWithError(err.str().c_str());
        benchmark::DoNotOptimize(out);
    }
    state.SetItemsProcessed(state.iterations() * state.range(0) * 40);
}

}  // namespace

BENCHMARK(tempo_interval)->ArgNames({"seen", "tight"})->ArgsProduct({{300, 1'000'000}, {0}});
BENCHMARK(tempo_interval)->ArgNames({"seen", "tight"})->ArgsProduct({{300, 1'000'000}, {1}});
BENCHMARK(choice)->ArgName("seen")->Arg(300)->Arg(1'000'000);
BENCHMARK(drill_entry)->ArgName("seen")->Arg(300)->Arg(1'000'000);
BENCHMARK(drills_from_csv)->ArgName("drills")->Arg(100'000)->Unit(benchmark::kSecond)->Iterations(1);
