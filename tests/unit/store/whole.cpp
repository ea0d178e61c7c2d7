// Whether what the store holds is what was written: sums, what rescue says of them, reading where nothing can be put
// beside the store, the daily backup, and call-signs that are one.
#include <sqlite3.h>
#include <sys/stat.h>
#include <sys/wait.h>

#include <algorithm>
#include <fstream>
#include <iterator>

#include "store/daily_backup.hpp"
#include "store/damaged/rescue.hpp"
#include "store/restore.hpp"
#include "store/tonight.hpp"
#include "store_tests.hpp"

using namespace breakstep;
using namespace breakstep::testing;
namespace fs = std::filesystem;

namespace {

constexpr SessionId evening{9};
constexpr std::int64_t now = 1'800'000'000;

std::string content_of(const fs::path& path) {
    std::ifstream file(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), {}};
}
void put(const fs::path& path, const std::string& content) { std::ofstream(path, std::ios::binary) << content; }

Athlete named(std::uint64_t id, const std::string& call_sign) {
    Athlete athlete;
    athlete.id = AthleteId{id};
    athlete.call_sign = call_sign;
    return athlete;
}

StoreOptions looking() {
    StoreOptions options;
    options.mode = StoreMode::read_only;
    return options;
}

void make_store(const fs::path& path, bool ended = true) {
    auto store = open_store(path, inline_options());
    const Athlete heron = named(42, "Heron");
    const Measure measure{heron.id, "reach_cm", "2024-03-02", 151};
    REQUIRE(store->add_all({&heron, 1}, {&measure, 1}).has_value());
    store->append(evening, some_records(evening, 60, ended));
    for (int rep = 0; rep < 10; ++rep) store->keep(evening, full_rep(RepId{rep}));
    store->keep_totals(evening, full_totals(1));
    REQUIRE(store->close().has_value());
}

void run_sql(const fs::path& path, const std::string& sql) {
    sqlite3* database = nullptr;
    REQUIRE(sqlite3_open(path.c_str(), &database) == SQLITE_OK);
    REQUIRE(sqlite3_exec(database, sql.c_str(), nullptr, nullptr, nullptr) == SQLITE_OK);
    sqlite3_close(database);
}

/// Runs `work` as a user without rights; its answer, 0 to 99.
template <class Work>
int as_nobody(Work&& work) {
    const pid_t child = ::fork();
    if (child == 0) {
        if (::geteuid() == 0 && (::setgid(65534) != 0 || ::setuid(65534) != 0)) ::_exit(99);
        ::_exit(work());
    }
    int status = 0;
    ::waitpid(child, &status, 0);
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

}  // namespace

TEST_CASE("a value that changed inside a row is told with the session or the list it stands in") {
    const TemporaryFolder folder;
    make_store(folder / "a.store");
    CHECK(open_store(folder / "a.store", looking())->verify().value().sessions_without_sum == 0);
    struct Change {
        const char* sql;
        const char* said;
    };
    for (const Change& change :
         {Change{"UPDATE reps SET latency_ns = latency_ns + 1 WHERE rep = 3", "results of session 1"},
          Change{"DELETE FROM reps WHERE rep = 3", "results of session 1"},
          Change{"UPDATE events SET bytes = x'00' WHERE position = 7", "record of session 1"},
          Change{"UPDATE totals SET wealth = wealth + 0.5", "record of session 1"},
          Change{"UPDATE sessions SET began_unix_s = began_unix_s + 1", "record of session 1"},
          Change{"UPDATE measures SET value = 152", "list of measures"},
          Change{"UPDATE athletes SET birth_year = 2011", "list of athletes"}}) {
        CAPTURE(change.sql);
        fs::copy_file(folder / "a.store", folder / "b.store", fs::copy_options::overwrite_existing);
        run_sql(folder / "b.store", change.sql);
        const auto verified = open_store(folder / "b.store", looking())->verify();
        REQUIRE_FALSE(verified.has_value());
        CHECK(verified.error().kind == ErrorKind::damaged);
        CHECK_MESSAGE(verified.error().what.find(change.said) != std::string::npos, verified.error().what);
        fs::remove(folder / "c.store");
        const auto report = rescue_store(folder / "b.store", folder / "c.store", now);
        REQUIRE(report.has_value());
        CHECK_FALSE(report->whole());
        // What was saved is what was found, and is whole from now on.
        CHECK(open_store(folder / "c.store", looking())->verify().has_value());
    }
}

TEST_CASE("a store that was found whole is not read again while it is unchanged") {
    const TemporaryFolder folder;
    make_store(folder / "a.store");
    const fs::path memory = folder.path() / "cache" / "found-whole";
    CHECK_FALSE(open_store(folder / "a.store", looking())->verify(memory).value().remembered);
    CHECK(open_store(folder / "a.store", looking())->verify(memory).value().remembered);
    std::string changed = content_of(folder / "a.store");
    const auto at = changed.find("reach_cm");
    REQUIRE(at != std::string::npos);
    changed[at] = 'b';
    put(folder / "a.store", changed);
    CHECK_FALSE(open_store(folder / "a.store", looking())->verify(memory).has_value());
}

TEST_CASE("a session that was cut off is told once, with what is kept of it") {
    const TemporaryFolder folder;
    make_store(folder / "a.store", false);
    CHECK(open_store(folder / "a.store", looking())->verify().value().sessions_without_sum == 1);
    auto store = open_store(folder / "a.store", inline_options());
    const auto cut = store->take_cut_off();
    REQUIRE(cut.has_value());
    REQUIRE(cut->size() == 1);
    CHECK(cut->front().reps == 10);
    CHECK(store->take_cut_off().value().empty());
    CHECK(store->verify().value().sessions_without_sum == 0);
}

TEST_CASE("a store in a folder that can't be written to is read, with what its log holds") {
    const TemporaryFolder folder;
    fs::create_directory(folder / "box");
    const fs::path path = folder.path() / "box" / "a.store";
    make_store(path);
    const auto reads = [&](std::size_t measures) {
        return as_nobody([&] {
            const auto store = Store::open(path, looking());
            if (!store) return 1;
            const auto all = (*store)->measures();
            if (!all || all->size() != measures) return 2;
            return (*store)->verify() ? 0 : 3;
        });
    };
    const auto lock_up = [&](bool locked) {
        ::chmod(folder.path().c_str(), 0755);
        for (const auto& entry : fs::directory_iterator(folder / "box"))
            ::chmod(entry.path().c_str(), locked ? 0444 : 0600);
        ::chmod((folder / "box").c_str(), locked ? 0555 : 0755);
    };
    lock_up(true);
    CHECK(reads(1) == 0);
    lock_up(false);
    {
        // What an ended program leaves: a measure in the write-ahead log alone.
        const pid_t child = ::fork();
        if (child == 0) {
            auto store = Store::open(path, inline_options());
            const Measure measure{AthleteId{42}, "in_the_log", "2024-05-05", 5};
            ::_exit(store && (*store)->add_all({}, {&measure, 1}) ? 0 : 1);
        }
        int status = 0;
        ::waitpid(child, &status, 0);
        REQUIRE(status == 0);
    }
    REQUIRE(fs::file_size(path.string() + "-wal") > 0);
    fs::remove(path.string() + "-shm");
    lock_up(true);
    const auto files = std::distance(fs::directory_iterator(folder / "box"), fs::directory_iterator());
    CHECK(reads(2) == 0);
    CHECK(std::distance(fs::directory_iterator(folder / "box"), fs::directory_iterator()) == files);
    lock_up(false);
}

TEST_CASE("each day of use has a backup of its own, and old ones go: seven days, the newest of eight weeks") {
    const TemporaryFolder folder;
    make_store(folder / "a.store");
    auto store = open_store(folder / "a.store", inline_options());
    const auto first = back_up_daily(*store, "2024-01-01");
    REQUIRE(first.has_value());
    CHECK(first->made == daily_folder(store->path()) / "2024-01-01.db");
    CHECK(back_up_daily(*store, "2024-01-01").value().made.empty());
    struct stat facts {};
    REQUIRE(::stat(daily_folder(store->path()).c_str(), &facts) == 0);
    CHECK((facts.st_mode & 0777U) == 0700);
    put(daily_folder(store->path()) / "2023-01-01.db", "somebody's own file");
    for (int day = 2; day <= 31; ++day)
        REQUIRE(
            back_up_daily(*store, std::string("2024-01-") + (day < 10 ? "0" : "") + std::to_string(day)).has_value());
    std::vector<std::string> names;
    for (const auto& path : daily_backups(store->path())) names.push_back(path.stem().string());
    // 2024-01-01 was a Monday: the Sundays are the newest of their weeks.
    CHECK(names == std::vector<std::string>{"2023-01-01", "2024-01-07", "2024-01-14", "2024-01-21", "2024-01-25",
                                            "2024-01-26", "2024-01-27", "2024-01-28", "2024-01-29", "2024-01-30",
                                            "2024-01-31"});
    REQUIRE(store->close().has_value());
    store.reset();
    run_sql(folder / "a.store", "DELETE FROM measures");
    const auto restored =
        restore_store(daily_folder(folder / "a.store") / "2024-01-21.db", folder / "a.store", now, true);
    const std::string why = restored ? "" : restored.error().text();
    REQUIRE_MESSAGE(restored.has_value(), why);
    CHECK(restored->measures == 1);
    CHECK(open_store(folder / "a.store", looking())->verify().has_value());
}

TEST_CASE("a store that is not whole gets no daily backup, and the older ones stay") {
    const TemporaryFolder folder;
    make_store(folder / "a.store");
    CHECK(back_up_daily(*open_store(folder / "a.store"), "2024-01-01").has_value());
    run_sql(folder / "a.store", "UPDATE totals SET wealth = wealth + 0.5");
    CHECK(back_up_daily(*open_store(folder / "a.store"), "2024-06-01").error().kind == ErrorKind::damaged);
    CHECK(daily_backups(folder / "a.store").size() == 1);
}

TEST_CASE("nothing but a store gives its place to a backup, and a damaged one only if that is meant") {
    const TemporaryFolder folder;
    make_store(folder / "backup.store");
    put(folder / "text.txt", "a letter\n" + std::string(5000, 'x'));
    run_sql(folder / "other.db", "CREATE TABLE birds (name TEXT); INSERT INTO birds VALUES ('heron')");
    run_sql(folder / "marked.db", "PRAGMA application_id = 77; CREATE TABLE birds (name TEXT)");
    fs::create_directory(folder / "folder");
    for (const char* name : {"text.txt", "other.db", "marked.db", "folder"})
        for (const bool even_damaged : {false, true}) {
            CAPTURE(name);
            const std::string before = fs::is_directory(folder / name) ? "" : content_of(folder / name);
            const auto restored = restore_store(folder / "backup.store", folder / name, now, even_damaged);
            REQUIRE_FALSE(restored.has_value());
            CHECK(restored.error().kind == ErrorKind::bad_input);
            if (!fs::is_directory(folder / name)) CHECK(content_of(folder / name) == before);
            CHECK_FALSE(fs::exists((folder / name).string() + ".lock"));
        }
    make_store(folder / "a.store");
    std::string broken = content_of(folder / "a.store");
    broken.replace(3 * 4096, 4096, 4096, '\0');
    put(folder / "a.store", broken);
    CHECK(restore_store(folder / "backup.store", folder / "a.store", now).error().kind == ErrorKind::damaged);
    CHECK(content_of(folder / "a.store") == broken);
    const auto restored = restore_store(folder / "backup.store", folder / "a.store", now, true);
    REQUIRE(restored.has_value());
    CHECK(content_of(restored->replaced) == broken);
    // Its head gone: still known by its rows.
    make_store(folder / "b.store");
    broken = content_of(folder / "b.store");
    broken.replace(0, 4096, 4096, '\0');
    put(folder / "b.store", broken);
    CHECK(restore_store(folder / "backup.store", folder / "b.store", now).error().kind == ErrorKind::bad_input);
    CHECK(restore_store(folder / "backup.store", folder / "b.store", now, true).has_value());
}

TEST_CASE("opening what is no store leaves no lock beside it") {
    const TemporaryFolder folder;
    put(folder / "text.txt", "a letter\n");
    run_sql(folder / "other.db", "CREATE TABLE birds (name TEXT)");
    for (const char* name : {"text.txt", "other.db"}) {
        CHECK_FALSE(Store::open(folder / name).has_value());
        CHECK_FALSE(fs::exists((folder / name).string() + ".lock"));
    }
}

TEST_CASE("a first start that an earlier version was cut off at does not refuse later ones") {
    const TemporaryFolder folder;
    // As SQLite leaves it when the very first transaction is cut off: a page, and a journal that says there was none.
    const pid_t child = ::fork();
    if (child == 0) {
        sqlite3* database = nullptr;
        sqlite3_open((folder / "a.store").c_str(), &database);
        sqlite3_exec(database, "PRAGMA cache_size = 1; BEGIN; CREATE TABLE filler (text)", nullptr, nullptr, nullptr);
        for (int i = 0; i < 200; ++i)
            sqlite3_exec(database, "INSERT INTO filler VALUES (hex(randomblob(2000)))", nullptr, nullptr, nullptr);
        ::_exit(0);
    }
    ::waitpid(child, nullptr, 0);
    REQUIRE(fs::file_size(folder / "a.store") > 0);
    REQUIRE(fs::file_size(folder / "a.store-journal") > 0);
    const auto store = Store::open(folder / "a.store");
    const std::string why = store ? "" : store.error().text();
    REQUIRE_MESSAGE(store.has_value(), why);
    CHECK((*store)->check().has_value());
}

TEST_CASE("a change of a backup that was cut off in the middle is undone at the next look") {
    for (const bool writing : {false, true}) {
        CAPTURE(writing);
        const TemporaryFolder folder;
        make_store(folder / "a.store");
        REQUIRE(open_store(folder / "a.store", looking())->copy_to(folder / "copy.store").has_value());
        const auto athletes = open_store(folder / "a.store", looking())->athletes().value().size();
        const pid_t child = ::fork();
        if (child == 0) {
            sqlite3* database = nullptr;
            sqlite3_open((folder / "copy.store").c_str(), &database);
            sqlite3_exec(database, "PRAGMA cache_size = 1; BEGIN; CREATE TABLE filler (text)", nullptr, nullptr,
                         nullptr);
            for (int i = 0; i < 200; ++i)
                sqlite3_exec(database, "INSERT INTO filler VALUES (hex(randomblob(2000)))", nullptr, nullptr, nullptr);
            ::_exit(0);
        }
        ::waitpid(child, nullptr, 0);
        REQUIRE(fs::file_size(folder / "copy.store-journal") > 0);
        const auto store = writing ? Store::open(folder / "copy.store") : Store::open(folder / "copy.store", looking());
        const std::string why = store ? "" : store.error().text();
        REQUIRE_MESSAGE(store.has_value(), why);
        CHECK((*store)->check().has_value());
        CHECK((*store)->athletes().value().size() == athletes);
    }
}

TEST_CASE("a file that bears the name of a store's journal and is none is named, and stays") {
    const TemporaryFolder folder;
    make_store(folder / "a.store");
    put(folder / "a.store-journal", "a letter\n");
    for (const bool writing : {false, true}) {
        const auto store = writing ? Store::open(folder / "a.store") : Store::open(folder / "a.store", looking());
        REQUIRE_FALSE(store.has_value());
        CHECK(store.error().kind == ErrorKind::bad_input);
        CHECK(store.error().what.find("a.store-journal") != std::string::npos);
    }
    CHECK(content_of(folder / "a.store-journal") == "a letter\n");
}

TEST_CASE("no backup takes a name that a store keeps something under, nor an evening's") {
    const TemporaryFolder folder;
    make_store(folder / "a.store");
    const auto store = open_store(folder / "a.store", looking());
    for (const char* name : {"a.store-journal", "a.store-wal", "a.store-shm", "a.store.lock", "b.tonight.db"}) {
        CAPTURE(name);
        const bool there = fs::exists(folder / name);
        const auto made = store->backup(folder / name);
        REQUIRE_FALSE(made.has_value());
        CHECK(made.error().kind == ErrorKind::bad_input);
        CHECK(fs::exists(folder / name) == there);
    }
}

TEST_CASE("a database of another program under the name of an evening's file is left alone") {
    const TemporaryFolder folder;
    run_sql(folder / "a.tonight.db", "CREATE TABLE birds (name TEXT)");
    CHECK(remove_tonight(folder / "a.tonight.db").error().kind == ErrorKind::bad_input);
    CHECK(fs::exists(folder / "a.tonight.db"));
}

TEST_CASE("a backup is noted while another program writes the store") {
    const TemporaryFolder folder;
    make_store(folder / "a.store");
    auto writer = open_store(folder / "a.store");
    const auto reader = open_store(folder / "a.store", looking());
    const auto made = reader->backup(folder / "copy.store");
    REQUIRE(made.has_value());
    CHECK(made->noted);
    CHECK(writer->backups().value().size() == 1);
}

TEST_CASE("a backup that can't be noted is not left behind, where the store may be written") {
    const TemporaryFolder folder;
    make_store(folder / "a.store");
    const auto reader = open_store(folder / "a.store", looking());
    // The log's place is taken, which is how a full disk looks to SQLite.
    fs::remove(folder / "a.store-wal");
    fs::create_directory(folder / "a.store-wal");
    const auto made = reader->backup(folder / "copy.store");
    CHECK_FALSE(made.has_value());
    CHECK_FALSE(fs::exists(folder / "copy.store"));
}

TEST_CASE("call-signs that are one by Unicode's form, letter case or marks that show nothing are taken") {
    const TemporaryFolder folder;
    auto store = open_store(folder / "a.store");
    REQUIRE(store->add_athlete(named(1, "Möwe")).has_value());
    REQUIRE(store->add_athlete(named(2, "ΣΊΣΥΦΟΣ")).has_value());
    for (const char* twin : {"Mo\xCC\x88we", "MÖWE", "mo\xCC\x88WE", "Σίσυφος", "Ｍöwe"}) {
        CAPTURE(twin);
        CHECK(store->add_athlete(named(9, twin)).error().kind == ErrorKind::bad_input);
        CHECK(store->find_athlete(twin).value().has_value());
    }
    for (const char* hidden : {"He\xE2\x80\x8Bron", "\xE2\x80\xAEnoreH", "Heron\xC2\xAD", "\xEF\xBB\xBFHeron",
                               "Her\xE2\x80\x8Don", "\xE3\x85\xA4", "\xE2\x81\xA6Heron", "Heron\xEF\xB8\x8F",
                               "He\xCD\x8Fron", "\xC2\xA0", "\xE3\x80\x80Heron", "\xCC\x81", "Heron\xEE\x80\x80"}) {
        CAPTURE(hidden);
        CHECK(store->add_athlete(named(9, hidden)).error().kind == ErrorKind::bad_input);
    }
    // A joiner where its script needs it.
    CHECK(store->add_athlete(named(3, "می\xE2\x80\x8Cخواهم")).has_value());
    CHECK(store->add_athlete(named(4, "Mowe")).has_value());
}
