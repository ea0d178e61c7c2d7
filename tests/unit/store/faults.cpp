// What happens to records when the disk is full, fails, loses power, or the process dies.
#include <signal.h>
#include <sys/resource.h>
#include <sys/wait.h>

#include <atomic>
#include <condition_variable>
#include <fstream>
#include <mutex>

#include "faulty_disk.hpp"
#include "store_tests.hpp"

using namespace breakstep;
using namespace breakstep::testing;

namespace {

constexpr SessionId one_evening{77};

void append_each(Store& store, std::span<const JournalRecord> records) {
    for (const JournalRecord& record : records) store.append(one_evening, std::span(&record, 1));
}

// Appends until the disk complains; returns how many were appended.
std::int64_t append_until_failure(Store& store, std::span<const JournalRecord> records) {
    std::int64_t appended = 0;
    for (const JournalRecord& record : records) {
        store.append(one_evening, std::span(&record, 1));
        ++appended;
        if (!store.flush()) break;
    }
    return appended;
}

StoreOptions options_for(StoreMode mode) {
    StoreOptions options;
    options.mode = mode;
    return options;
}

template <class Test>
void in_both_modes(Test&& test) {
    SUBCASE("with a thread") { test(StoreMode::own_thread); }
    SUBCASE("inline") { test(StoreMode::inline_writes); }
}

}  // namespace

TEST_CASE(
    "on a full disk what was committed stays, and what follows is held back and written when there is room again") {
    in_both_modes([](StoreMode mode) {
        TemporaryFolder folder;
        const auto records = some_records(one_evening, 4000);
        {
            FaultyDisk disk;
            auto store = open_store(folder / "a.store", options_for(mode));
            append_each(*store, std::span(records).first(500));
            REQUIRE(store->flush().has_value());
            disk.bytes_left = 20'000;
            const std::int64_t appended = append_until_failure(*store, std::span(records).subspan(500));
            REQUIRE(appended < 3500);
            const auto why = store->failure();
            REQUIRE(why.has_value());
            CHECK(why->kind == ErrorKind::no_space);
            CHECK(why->what.find("a.store") != std::string::npos);
            CHECK(why->what.find("full") != std::string::npos);
            const std::int64_t safe = store->committed(one_evening);
            CHECK(safe >= 499);
            CHECK(safe < 500 + appended - 1);
            CHECK(static_cast<std::int64_t>(stored_records(*store, one_evening).size()) == safe + 1);

            append_each(*store, std::span(records).subspan(500 + static_cast<std::size_t>(appended)));
            CHECK_FALSE(store->flush().has_value());
            CHECK(store->committed(one_evening) == safe);
            CHECK(store->backlog().records == 4000 - safe - 1);
            CHECK(store->backlog().bytes > 0);

            disk.bytes_left = -1;
            REQUIRE(store->flush().has_value());
            CHECK_FALSE(store->failure().has_value());
            CHECK(store->committed(one_evening) == 3999);
            CHECK(store->backlog().records == 0);
            CHECK(store->backlog().bytes == 0);
            CHECK(store->counters().records_refused == 0);
        }
        auto store = open_store(folder / "a.store");
        CHECK(bytes_of(stored_records(*store, one_evening)) == bytes_of(records));
        CHECK(store->check().has_value());
    });
}

TEST_CASE("a store that can't be opened for want of room is told, and a new one leaves no empty file") {
    TemporaryFolder folder;
    { auto store = open_store(folder / "old.store"); }
    FaultyDisk disk;
    disk.bytes_left = 0;
    for (const char* name : {"old.store", "new.store"}) {
        const auto store = Store::open(folder / name);
        REQUIRE_FALSE(store.has_value());
        CHECK(store.error().kind == ErrorKind::no_space);
        CHECK(store.error().to_do.find("try again") != std::string::npos);
    }
    CHECK_FALSE(std::filesystem::exists(folder / "new.store"));
    CHECK(std::filesystem::exists(folder / "old.store"));
    disk.bytes_left = -1;
    CHECK(Store::open(folder / "new.store").has_value());
}

TEST_CASE("the writer tries again by itself when there is room, and says so") {
    TemporaryFolder folder;
    FaultyDisk disk;
    std::mutex mutex;
    std::condition_variable changed;
    std::atomic<Store*> to_ask{nullptr};
    bool failed = false, well = false;
    StoreOptions options;
    options.on_committed = [&] {
        if (to_ask == nullptr) return;
        const std::lock_guard lock(mutex);
        if (to_ask.load()->failure())
            failed = true;
        else if (failed)
            well = true;
        changed.notify_all();
    };
    auto store = open_store(folder / "a.store", options);
    to_ask = store.get();
    const auto records = some_records(one_evening, 50);
    disk.writes_fail = true;
    store->append(one_evening, records);
    std::unique_lock lock(mutex);
    changed.wait(lock, [&] { return failed; });
    CHECK(store->failure()->kind == ErrorKind::system);
    disk.writes_fail = false;
    changed.wait(lock, [&] { return well; });
    lock.unlock();
    CHECK(store->committed(one_evening) == 49);
    CHECK(store->counters().failed_attempts >= 1);
    to_ask = nullptr;
}

TEST_CASE("a commit whose sync failed is not called committed") {
    in_both_modes([](StoreMode mode) {
        if (mode == StoreMode::inline_writes) return;  // inline does not wait for the disk
        TemporaryFolder folder;
        FaultyDisk disk;
        auto store = open_store(folder / "a.store", options_for(mode));
        const auto records = some_records(one_evening, 20);
        store->append(one_evening, std::span(records).first(10));
        REQUIRE(store->flush().has_value());
        disk.sync_fails = true;
        store->append(one_evening, std::span(records).subspan(10));
        CHECK_FALSE(store->flush().has_value());
        CHECK(store->committed(one_evening) == 9);
        disk.sync_fails = false;
        CHECK(store->flush().has_value());
        CHECK(store->committed(one_evening) == 19);
        CHECK(bytes_of(stored_records(*store, one_evening)) == bytes_of(records));
    });
}

TEST_CASE("what waits in memory is bounded: beyond it the session is cut, counted and told, without a hole") {
    in_both_modes([](StoreMode mode) {
        TemporaryFolder folder;
        FaultyDisk disk;
        StoreOptions options = options_for(mode);
        options.queue_bytes_max = 64 * 1024;
        auto store = open_store(folder / "a.store", options);
        const auto records = some_records(one_evening, 5000);
        disk.writes_fail = true;
        append_each(*store, records);
        CHECK(store->backlog().bytes <= options.queue_bytes_max);
        CHECK(store->counters().backlog_bytes_peak <= options.queue_bytes_max);
        const std::int64_t held = store->backlog().records, refused = store->counters().records_refused;
        CHECK(held > 500);
        CHECK(refused > 0);
        CHECK(held + refused == 5000);
        store->keep(one_evening, full_rep(RepId{0}));
        disk.writes_fail = false;
        REQUIRE(store->flush().has_value());
        // Well again, but a session was cut: that is said until another one begins.
        REQUIRE(store->failure().has_value());
        CHECK(store->failure()->what.find("no longer kept") != std::string::npos);
        CHECK(store->committed(one_evening) == held - 1);
        const auto kept = stored_records(*store, one_evening);
        CHECK(bytes_of(kept) == bytes_of({records.begin(), records.begin() + held}));
        // The next session is taken as ever.
        const auto next = some_records(SessionId{78}, 10);
        store->append(SessionId{78}, next);
        REQUIRE(store->flush().has_value());
        CHECK(store->committed(SessionId{78}) == 9);
        CHECK_FALSE(store->failure().has_value());
        store->append(one_evening, std::span(records).subspan(static_cast<std::size_t>(held), 1));
        CHECK(store->counters().records_refused == refused + 1);
        CHECK(store->failure().has_value());
    });
}

TEST_CASE("closing on a full disk says how much could not be saved") {
    in_both_modes([](StoreMode mode) {
        TemporaryFolder folder;
        FaultyDisk disk;
        auto store = open_store(folder / "a.store", options_for(mode));
        const auto records = some_records(one_evening, 30);
        store->append(one_evening, std::span(records).first(10));
        REQUIRE(store->flush().has_value());
        disk.bytes_left = 0;
        store->append(one_evening, std::span(records).subspan(10));
        const Expected<void> closed = store->close();
        REQUIRE_FALSE(closed.has_value());
        CHECK(closed.error().kind == ErrorKind::no_space);
        CHECK(closed.error().what.find("20 records") != std::string::npos);
        CHECK(store->close().has_value());  // told once
        store->append(one_evening, std::span(records).subspan(10));
        CHECK(store->counters().records_refused == 40);
    });
}

TEST_CASE("no power cut, wherever it falls, loses what was said to be committed") {
    std::int64_t cuts = 0, most = 0;
    for (std::uint64_t seed = 1; seed <= 60; ++seed) {
        CAPTURE(seed);
        TemporaryFolder folder, after;
        Random random(seed);
        const auto records = some_records(one_evening, 1500, false, seed);
        const auto cut_at = static_cast<std::int64_t>(40 + random.below(700));
        std::int64_t acknowledged = -1;
        bool cut = false;
        {
            FaultyDisk disk;
            auto store = open_store(folder / "a.store");
            disk.before_operation = [&](std::int64_t count) {
                if (count != cut_at) return;
                cut = true;
                acknowledged = store->committed(one_evening);
                disk.write_what_survives(random, after.path());
            };
            for (std::size_t i = 0; i < records.size(); i += 15) {
                store->append(one_evening, std::span(records).subspan(i, 15));
                if (i % 60 == 0) REQUIRE(store->flush().has_value());
            }
            REQUIRE(store->close().has_value());
        }
        if (!cut) continue;
        ++cuts;
        auto store = open_store(after / "a.store");
        const auto kept = stored_records(*store, one_evening);
        most = std::max(most, static_cast<std::int64_t>(kept.size()));
        CHECK(static_cast<std::int64_t>(kept.size()) > acknowledged);
        CHECK(bytes_of(kept) ==
              bytes_of({records.begin(), records.begin() + static_cast<std::ptrdiff_t>(kept.size())}));
        CHECK(store->check().has_value());
    }
    // The cuts must have fallen where there was something to lose.
    CHECK(cuts >= 20);
    CHECK(most > 500);
}

namespace {

// In the child: writes records for ever and tells through the pipe what was committed.
[[noreturn]] void write_until_killed(const std::filesystem::path& path, int pipe_end) {
    Store* to_ask = nullptr;
    StoreOptions options;
    options.on_committed = [&] {
        if (to_ask == nullptr) return;
        const std::int64_t safe = to_ask->committed(one_evening);
        if (::write(pipe_end, &safe, sizeof(safe)) != sizeof(safe)) std::_Exit(3);
    };
    auto store = Store::open(path, options);
    if (!store) std::_Exit(2);
    to_ask = store->get();
    const auto records = some_records(one_evening, 200'000);
    for (const JournalRecord& record : records) {
        to_ask->append(one_evening, std::span(&record, 1));
        if (record.position % 97 == 0) (void)to_ask->flush();
    }
    for (;;) ::pause();
}

}  // namespace

TEST_CASE("a process killed in the middle of writing leaves every committed record, without holes") {
    for (int round = 0; round < 8; ++round) {
        CAPTURE(round);
        TemporaryFolder folder;
        int ends[2];
        REQUIRE(::pipe(ends) == 0);
        const pid_t child = ::fork();
        if (child == 0) {
            ::close(ends[0]);
            write_until_killed(folder / "a.store", ends[1]);
        }
        ::close(ends[1]);
        std::int64_t acknowledged = -1;
        for (int told = 0; told < 3 + round * 5; ++told) {
            std::int64_t safe = 0;
            REQUIRE(::read(ends[0], &safe, sizeof(safe)) == sizeof(safe));
            acknowledged = safe;
        }
        REQUIRE(::kill(child, SIGKILL) == 0);
        int status = 0;
        REQUIRE(::waitpid(child, &status, 0) == child);
        REQUIRE(WIFSIGNALED(status));
        // What it told between the last reading and its end counts too.
        std::int64_t safe = 0;
        while (::read(ends[0], &safe, sizeof(safe)) == sizeof(safe)) acknowledged = safe;
        ::close(ends[0]);
        REQUIRE(acknowledged > 0);

        auto store = open_store(folder / "a.store");
        const auto kept = stored_records(*store, one_evening);
        CHECK(static_cast<std::int64_t>(kept.size()) > acknowledged);
        const auto all = some_records(one_evening, static_cast<std::int64_t>(kept.size()));
        CHECK(bytes_of(kept) == bytes_of(all));
        CHECK(store->check().has_value());
        CHECK(store->committed(one_evening) == static_cast<std::int64_t>(kept.size()) - 1);
    }
}

TEST_CASE("a session goes on in a store that was closed and opened again") {
    in_both_modes([](StoreMode mode) {
        TemporaryFolder folder;
        const auto records = some_records(one_evening, 20, true);
        {
            auto store = open_store(folder / "a.store", options_for(mode));
            store->append(one_evening, std::span(records).first(12));
        }
        auto store = open_store(folder / "a.store", options_for(mode));
        CHECK(store->committed(one_evening) == 11);
        store->append(one_evening, std::span(records).subspan(12));
        REQUIRE(store->flush().has_value());
        CHECK(bytes_of(stored_records(*store, one_evening)) == bytes_of(records));
        CHECK(store->find_session("last")->how == SessionEnd::stopped);
    });
}

TEST_CASE("beginning a kept session a second time is refused and told, changes nothing, and holds nobody else up") {
    in_both_modes([](StoreMode mode) {
        TemporaryFolder folder;
        const auto records = some_records(one_evening, 20);
        {
            auto store = open_store(folder / "a.store", options_for(mode));
            store->append(one_evening, records);
        }
        auto store = open_store(folder / "a.store", options_for(mode));
        store->append(one_evening, some_records(one_evening, 5, false, 99));
        REQUIRE(store->flush().has_value());
        CHECK(store->failure().has_value());
        store->append(SessionId{5}, some_records(SessionId{5}, 3));
        REQUIRE(store->flush().has_value());
        CHECK(store->counters().records_refused == 5);
        CHECK(store->backlog().bytes == 0);
        CHECK(store->committed(SessionId{5}) == 2);
        CHECK(bytes_of(stored_records(*store, one_evening)) == bytes_of(records));
    });
}

namespace {

// In the child: the system lets no file grow beyond 300,000 bytes, as a full quota does. Tells 0 if all was as it
// should be.
int run_into_the_size_limit(const std::filesystem::path& path) {
    ::signal(SIGXFSZ, SIG_IGN);
    rlimit limit{300'000, RLIM_INFINITY};
    if (::setrlimit(RLIMIT_FSIZE, &limit) != 0) return 1;
    auto store = Store::open(path, {});
    if (!store) return 2;
    const auto records = some_records(one_evening, 20'000);
    (*store)->append(one_evening, std::span(records).first(200));
    if (!(*store)->flush()) return 3;
    (*store)->append(one_evening, std::span(records).subspan(200));
    const auto flushed = (*store)->flush();
    if (flushed || flushed.error().kind != ErrorKind::no_space) return 4;
    if ((*store)->committed(one_evening) != 199) return 5;
    limit.rlim_cur = RLIM_INFINITY;
    if (::setrlimit(RLIMIT_FSIZE, &limit) != 0) return 6;
    if (!(*store)->flush()) return 7;
    if ((*store)->committed(one_evening) != 19'999) return 8;
    return (*store)->close() ? 0 : 9;
}

}  // namespace

TEST_CASE("the system's own limit on file sizes is told as a full disk, and nothing is lost when it is lifted") {
    TemporaryFolder folder;
    const pid_t child = ::fork();
    if (child == 0) std::_Exit(run_into_the_size_limit(folder / "a.store"));
    int status = 0;
    REQUIRE(::waitpid(child, &status, 0) == child);
    REQUIRE(WIFEXITED(status));
    CHECK(WEXITSTATUS(status) == 0);
    auto store = open_store(folder / "a.store");
    CHECK(stored_records(*store, one_evening).size() == 20'000);
}
