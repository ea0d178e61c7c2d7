// A term from the store to its figures, beside a plain SQL scan of the same rows. Each round opens the store anew, with
// its pages dropped from the system's cache as far as the system obeys.
#include <benchmark/benchmark.h>
#include <fcntl.h>
#include <sys/resource.h>
#include <unistd.h>

#include <SQLiteCpp/SQLiteCpp.h>

#include <chrono>
#include <cstdlib>
#include <filesystem>
#include <map>
#include <string>
#include <vector>

#include "club/term/progress_report.hpp"
#include "club/term/term.hpp"
#include "core/iso_date.hpp"
#include "support/planted_term.hpp"

using namespace breakstep;
namespace fs = std::filesystem;

namespace {

/// A store of so many reps, 60 a session, 40 sessions an athlete and 30 athletes where there is room; made once.
class Planted {
  public:
    ~Planted() {
        std::error_code ignored;
        fs::remove_all(folder_, ignored);
    }
    const fs::path& of(std::int64_t reps) {
        if (folder_.empty()) {
            char name[] = "/tmp/breakstep-bench-XXXXXX";
            folder_ = mkdtemp(name);
        }
        fs::path& path = stores_[reps];
        if (!path.empty()) return path;
        path = folder_ / (std::to_string(reps) + ".db");
        StoreOptions options;
        options.mode = StoreMode::inline_writes;
        options.inline_commit_records = 2000;
        auto store = Store::open(path, options);
        testing::PlantedTerm wanted;
        wanted.sessions = static_cast<int>(reps / (wanted.athletes * wanted.reps));
        if (!store || testing::plant(**store, wanted).empty() || !(*store)->close()) std::abort();
        return path;
    }

  private:
    fs::path folder_;
    std::map<std::int64_t, fs::path> stores_;
};

Planted& planted() {
    static Planted stores;
    return stores;
}

void drop_from_cache(const fs::path& path) {
    const int file = ::open(path.c_str(), O_RDONLY);
    if (file < 0) return;
    ::fsync(file);
    ::posix_fadvise(file, 0, 0, POSIX_FADV_DONTNEED);
    ::close(file);
}

double peak_mebibytes() {
    rusage usage{};
    getrusage(RUSAGE_SELF, &usage);
    return static_cast<double>(usage.ru_maxrss) / 1024;
}

void tell(benchmark::State& state) {
    state.SetItemsProcessed(state.iterations() * state.range(0));
    state.counters["peak_MiB"] = peak_mebibytes();
}

void sql_scan(benchmark::State& state) {
    const fs::path& path = planted().of(state.range(0));
    for (auto _ : state) {
        state.PauseTiming();
        drop_from_cache(path);
        state.ResumeTiming();
        SQLite::Database database(path.string());
        SQLite::Statement query(database,
                                "SELECT session, set_index, number, kind, moment, counter, start, verdict, scored, "
                                "catch_trial, contacted, retreated, latency_ns, error_ns FROM reps");
        std::int64_t rows = 0;
        while (query.executeStep()) rows += query.getColumn(0).getInt64() > 0 ? 1 : 0;
        if (rows != state.range(0)) state.SkipWithError("rows are missing");
    }
    tell(state);
}

/// The least a scan can do: one sum, inside SQLite.
void sql_sum(benchmark::State& state) {
    const fs::path& path = planted().of(state.range(0));
    for (auto _ : state) {
        state.PauseTiming();
        drop_from_cache(path);
        state.ResumeTiming();
        SQLite::Database database(path.string());
        benchmark::DoNotOptimize(database.execAndGet("SELECT sum(latency_ns) FROM reps").getInt64());
    }
    tell(state);
}

void group_progress(benchmark::State& state) {
    const fs::path& path = planted().of(state.range(0));
    for (auto _ : state) {
        state.PauseTiming();
        drop_from_cache(path);
        state.ResumeTiming();
        StoreOptions options;
        options.mode = StoreMode::read_only;
        const auto store = Store::open(path, options);
        const auto term = load_term(**store, {});
        if (!term || term->terms.size() != 30) state.SkipWithError("the term is not whole");
        Coming coming;
        coming.next.resize(30);
        benchmark::DoNotOptimize(progress_json(*term, coming).size());
    }
    tell(state);
}

// ---- imported results: 50 athletes, a value each day, as many measures as it takes
// -------------------------------------

/// A store of so many imported values; made once.
const fs::path& imported(std::int64_t rows) {
    static Planted folder;
    static std::map<std::int64_t, fs::path> stores;
    fs::path& path = stores[rows];
    if (!path.empty()) return path;
    path = folder.of(72'000).parent_path() / ("imported-" + std::to_string(rows) + ".db");
    StoreOptions options;
    options.mode = StoreMode::inline_writes;
    auto store = Store::open(path, options);
    constexpr std::int64_t athletes_count = 50, days = 1000;
    std::vector<Athlete> athletes(athletes_count);
    for (std::size_t i = 0; i < athletes.size(); ++i) {
        athletes[i].id = AthleteId{i + 1};
        athletes[i].call_sign = "Bird " + std::to_string(i);
    }
    std::int64_t at = 0;
    Measure measure;
    const auto next = [&]() -> const Measure* {
        if (at == rows) return nullptr;
        const std::int64_t day = at / athletes_count % days;
        measure.athlete = athletes[static_cast<std::size_t>(at % athletes_count)].id;
        measure.measure = "measure " + std::to_string(at / (athletes_count * days));
        measure.date = date_text(std::chrono::sys_days(std::chrono::days(18'000 + day)));
        measure.value = static_cast<double>(200 + at * 7919 % 101);
        ++at;
        return &measure;
    };
    const auto taken = [](const Measure&) { return Error{ErrorKind::bad_input, "twice", ""}; };
    if (!store || !(*store)->add_all(athletes, next, taken) || !(*store)->close()) std::abort();
    return path;
}

void sql_scan_of_imported(benchmark::State& state) {
    const fs::path& path = imported(state.range(0));
    for (auto _ : state) {
        SQLite::Database database(path.string());
        SQLite::Statement query(database, "SELECT athlete, measure, date, value FROM measures");
        std::int64_t rows = 0;
        while (query.executeStep()) rows += query.getColumn(0).getInt64() > 0 ? 1 : 0;
        if (rows != state.range(0)) state.SkipWithError("rows are missing");
    }
    tell(state);
}

void progress_of_imported(benchmark::State& state) {
    const fs::path& path = imported(state.range(0));
    for (auto _ : state) {
        StoreOptions options;
        options.mode = StoreMode::read_only;
        const auto store = Store::open(path, options);
        const auto term = load_term(**store, {});
        if (!term || term->terms.size() != 50) state.SkipWithError("the term is not whole");
        Coming coming;
        coming.next.resize(50);
        benchmark::DoNotOptimize(progress_json(*term, coming).size());
    }
    tell(state);
}

/// SQLite's own check and every sum.
void verifying(benchmark::State& state) {
    const fs::path& path = planted().of(state.range(0));
    for (auto _ : state) {
        StoreOptions options;
        options.mode = StoreMode::read_only;
        const auto store = Store::open(path, options);
        if (!(*store)->verify()) state.SkipWithError("the store is not whole");
    }
    tell(state);
}

}  // namespace

BENCHMARK(sql_scan_of_imported)->Arg(100'000)->Arg(1'000'000)->Unit(benchmark::kMillisecond);
BENCHMARK(progress_of_imported)->Arg(100'000)->Arg(1'000'000)->Unit(benchmark::kMillisecond);
BENCHMARK(verifying)->Arg(72'000)->Arg(999'000)->Unit(benchmark::kMillisecond);
BENCHMARK(sql_sum)->Arg(72'000)->Arg(999'000)->Unit(benchmark::kMillisecond);
BENCHMARK(sql_scan)->Arg(72'000)->Arg(999'000)->Unit(benchmark::kMillisecond);
BENCHMARK(group_progress)->Arg(72'000)->Arg(999'000)->Unit(benchmark::kMillisecond);
