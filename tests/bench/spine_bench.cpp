// What the spine costs: an event from its bytes to verdict and orders, with the clock's fits spread over the events;
// decoding against memcpy; scoring a kept session again, with and without the store. Ratios are taken within one run.
#include <benchmark/benchmark.h>
#include <sys/resource.h>

#include <cstring>
#include <filesystem>
#include <vector>

#include "store/store.hpp"
#include "support/fast_run.hpp"

using namespace breakstep;

namespace {

Drill evening_drill() {
    Drill drill = small_drill();
    drill.sets = 6;
    drill.reps = 40;
    AttackChoice feint;
    feint.kind = AttackKind::feint;
    drill.attacks.push_back(feint);
    return drill;
}

struct Evening {
    std::vector<EngineCall> calls;
    EngineSettings settings;
    std::vector<JournalRecord> records;
    std::int64_t rig_events = 0;
    double virtual_seconds = 0;
};

// One session of 240 reps, captured: the same calls are made again in each iteration.
const Evening& evening() {
    static const Evening made = [] {
        Evening result;
        const auto path = std::filesystem::temp_directory_path() / "breakstep_bench.capture";
        auto capture = CaptureWriter::create(path, FastRun::settings(5, false));
        SimulatedTarget target(simulated_target_settings(5), FastRun::begin);
        MemoryJournal journal;
        VirtualCues cues(nullptr, FastRun::begin);
        FastDriver driver(FastRun::settings(5, false), target, journal, cues, &*capture, FastRun::begin);
        SessionBegan session;
        session.session = SessionId{1};
        session.seed = 5;
        session.drill = evening_drill();
        target.set_athlete(driver.now(), {*find_athlete("Heron"), session.drill.attacks, 5});
        if (!driver.run(session, {}, 7200s)) std::abort();
        if (!capture->close()) std::abort();
        const auto read = read_capture(
            path, [&](const EngineSettings& settings) { result.settings = settings; },
            [&](const EngineCall& call) { result.calls.push_back(call); });
        if (!read) std::abort();
        std::filesystem::remove(path);
        result.records = journal.sessions().at(session.session).records;
        for (const JournalRecord& record : result.records) {
            const auto kind = kind_of(record.event);
            if (kind >= PadHit::kind && kind <= LampsRefused::kind) ++result.rig_events;
        }
        result.virtual_seconds = static_cast<double>((driver.now() - FastRun::begin).count()) / 1e9;
        return result;
    }();
    return made;
}

double peak_mebibytes() {
    rusage usage{};
    getrusage(RUSAGE_SELF, &usage);
    return static_cast<double>(usage.ru_maxrss) / 1024;
}

void bytes_to_verdict(benchmark::State& state) {
    const Evening& played = evening();
    EngineOutput out;
    for (auto _ : state) {
        Engine engine(played.settings);
        for (const EngineCall& call : played.calls) {
            apply(engine, call);
            out.clear();
            engine.drain(out);
        }
        benchmark::DoNotOptimize(engine.score()->reps().size());
    }
    const auto events = static_cast<double>(state.iterations()) * static_cast<double>(played.rig_events);
    state.counters["us_per_rig_event"] =
        benchmark::Counter(events / 1e6, benchmark::Counter::kIsRate | benchmark::Counter::kInvert);
    state.counters["rig_events"] = static_cast<double>(played.rig_events);
    state.counters["virtual_s"] = played.virtual_seconds;
    state.counters["peak_MiB"] = peak_mebibytes();
}
BENCHMARK(bytes_to_verdict)->Unit(benchmark::kMillisecond);

std::vector<std::uint8_t> many_frames(std::size_t count) {
    std::vector<std::uint8_t> bytes;
    for (std::size_t i = 0; i < count; ++i) {
        wire_message message{};
        message.type = WIRE_PAD_HIT;
        message.sequence = static_cast<std::uint16_t>(i);
        message.time = i * 12'345;
        message.as.pad_hit = {static_cast<std::uint8_t>(i % 4), static_cast<std::uint16_t>(i % 1024), 0};
        std::uint8_t frame[WIRE_FRAME_MAX];
        const std::size_t size = wire_encode_frame(&message, frame);
        bytes.insert(bytes.end(), frame, frame + size);
    }
    return bytes;
}

void decoding(benchmark::State& state) {
    const auto bytes = many_frames(1000);
    for (auto _ : state) {
        wire_receiver receiver{};
        wire_message message{};
        int whole = 0;
        for (const std::uint8_t byte : bytes) whole += wire_receive(&receiver, byte, &message) == WIRE_RECEIVED_MESSAGE;
        benchmark::DoNotOptimize(whole);
    }
    state.SetBytesProcessed(state.iterations() * static_cast<std::int64_t>(bytes.size()));
    state.SetItemsProcessed(state.iterations() * 1000);
}
BENCHMARK(decoding);

void decoding_beside_memcpy(benchmark::State& state) {
    const auto bytes = many_frames(1000);
    std::vector<std::uint8_t> copy(bytes.size());
    for (auto _ : state) {
        std::memcpy(copy.data(), bytes.data(), bytes.size());
        benchmark::ClobberMemory();
    }
    state.SetBytesProcessed(state.iterations() * static_cast<std::int64_t>(bytes.size()));
    state.SetItemsProcessed(state.iterations() * 1000);
}
BENCHMARK(decoding_beside_memcpy);

void rescoring(benchmark::State& state) {
    const Evening& played = evening();
    std::vector<std::pair<std::uint16_t, std::string>> kept;
    for (const JournalRecord& record : played.records) {
        std::string bytes;
        encode(record.event, bytes);
        kept.emplace_back(kind_of(record.event), std::move(bytes));
    }
    std::vector<ScoreResult> results;
    for (auto _ : state) {
        Score score;
        std::int64_t position = 0;
        for (const auto& [kind, bytes] : kept) {
            results.clear();
            score.fold({position++, {}, *decode(kind, bytes)}, results);
        }
        benchmark::DoNotOptimize(score.reps().size());
    }
    state.SetItemsProcessed(state.iterations() * static_cast<std::int64_t>(kept.size()));
}
BENCHMARK(rescoring)->Unit(benchmark::kMillisecond);

void rescoring_from_the_store(benchmark::State& state) {
    const Evening& played = evening();
    const auto path = std::filesystem::temp_directory_path() / "breakstep_bench.db";
    const auto clean = [&path] {
        for (const char* suffix : {"", "-wal", "-shm", ".lock"}) std::filesystem::remove(path.string() + suffix);
    };
    clean();
    StoreOptions options;
    options.mode = StoreMode::inline_writes;
    options.inline_commit_records = 1000;
    auto store = Store::open(path, options);
    (*store)->append(SessionId{1}, played.records);
    if (!(*store)->flush()) std::abort();
    std::vector<ScoreResult> results;
    for (auto _ : state) {
        Score score;
        const auto read = (*store)->read_records(SessionId{1}, [&](const JournalRecord& record) {
            results.clear();
            score.fold(record, results);
        });
        benchmark::DoNotOptimize(read.has_value());
    }
    state.SetItemsProcessed(state.iterations() * static_cast<std::int64_t>(played.records.size()));
    state.counters["peak_MiB"] = peak_mebibytes();
    store->reset();
    clean();
}
BENCHMARK(rescoring_from_the_store)->Unit(benchmark::kMillisecond);

}  // namespace
