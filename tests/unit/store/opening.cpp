// Opening a store: what is refused, with which words, and that what is refused is left as it was.
#include <sqlite3.h>
#include <sys/stat.h>
#include <sys/wait.h>

#include <fstream>
#include <iterator>

#include "store/schema.hpp"
#include "store/values.hpp"
#include "store_tests.hpp"

using namespace breakstep;
using namespace breakstep::testing;

namespace {

constexpr SessionId one_evening{9};

std::string content_of(const std::filesystem::path& path) {
    std::ifstream file(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), {}};
}

void put(const std::filesystem::path& path, const std::string& content) {
    std::ofstream(path, std::ios::binary) << content;
}

void run_sql(const std::filesystem::path& path, const char* sql) {
    sqlite3* database = nullptr;
    REQUIRE(sqlite3_open(path.c_str(), &database) == SQLITE_OK);
    REQUIRE(sqlite3_exec(database, sql, nullptr, nullptr, nullptr) == SQLITE_OK);
    sqlite3_close(database);
}

Error refusal_of(const std::filesystem::path& path, StoreOptions options = {}) {
    auto store = Store::open(path, std::move(options));
    REQUIRE_FALSE(store.has_value());
    CHECK_FALSE(store.error().to_do.empty());
    CHECK(store.error().what.find(path.filename().string()) != std::string::npos);
    return store.error();
}

StoreOptions read_only() {
    StoreOptions options;
    options.mode = StoreMode::read_only;
    return options;
}

void make_store_with_records(const std::filesystem::path& path, std::int64_t count) {
    auto store = open_store(path);
    store->append(one_evening, some_records(one_evening, count));
    store->keep(one_evening, full_rep(RepId{0}));
    REQUIRE(store->close().has_value());
}

}  // namespace

TEST_CASE("a new store is its owner's alone, and leaves no log behind when it is closed") {
    TemporaryFolder folder;
    make_store_with_records(folder / "a.store", 10);
    struct stat status {};
    REQUIRE(::stat((folder / "a.store").c_str(), &status) == 0);
    CHECK((status.st_mode & 0777U) == 0600U);
    CHECK_FALSE(std::filesystem::exists(folder / "a.store-wal"));
    // Header bytes 18 and 19: 2 is a write-ahead log (SQLite's file format, section 1.3).
    const std::string header = content_of(folder / "a.store").substr(0, 100);
    CHECK(header[18] == 2);
    CHECK(header[19] == 2);
    CHECK(header.substr(68, 4) == "brks");  // application_id, big-endian, at offset 68
}

TEST_CASE("a folder that is missing is told, or made where that was asked for") {
    TemporaryFolder folder;
    const auto path = folder.path() / "no" / "such" / "a.store";
    CHECK(refusal_of(path).kind == ErrorKind::not_found);
    StoreOptions options;
    options.create_folders = true;
    CHECK(Store::open(path, options).has_value());
}

TEST_CASE("a folder, a text file, an empty name and a picture are no stores, and stay as they are") {
    TemporaryFolder folder;
    CHECK(refusal_of(folder.path()).kind == ErrorKind::bad_input);
    CHECK_FALSE(Store::open("").has_value());
    const std::string text(5000, 'x');
    put(folder / "notes.txt", text);
    CHECK(refusal_of(folder / "notes.txt").kind == ErrorKind::bad_input);
    CHECK(content_of(folder / "notes.txt") == text);
    put(folder / "short.png", "\x89PNG");
    CHECK(refusal_of(folder / "short.png").kind == ErrorKind::bad_input);
    CHECK(content_of(folder / "short.png") == "\x89PNG");
}

TEST_CASE("an empty file becomes a store") {
    TemporaryFolder folder;
    put(folder / "a.store", "");
    make_store_with_records(folder / "a.store", 5);
    CHECK(stored_records(*open_store(folder / "a.store"), one_evening).size() == 5);
}

TEST_CASE("a database of another program is refused and left to the byte") {
    TemporaryFolder folder;
    run_sql(folder / "music.db", "CREATE TABLE songs (title TEXT); INSERT INTO songs VALUES ('x');");
    const std::string before = content_of(folder / "music.db");
    const Error error = refusal_of(folder / "music.db");
    CHECK(error.kind == ErrorKind::bad_input);
    CHECK(error.what.find("another program") != std::string::npos);
    CHECK(content_of(folder / "music.db") == before);
    CHECK(refusal_of(folder / "music.db", read_only()).kind == ErrorKind::bad_input);
}

TEST_CASE("a newer version's store is refused with both versions, and left to the byte") {
    TemporaryFolder folder;
    make_store_with_records(folder / "a.store", 10);
    const std::int32_t newer = schema::newest_version() + 1;
    run_sql(folder / "a.store", ("PRAGMA user_version = " + std::to_string(newer)).c_str());
    const std::string before = content_of(folder / "a.store");
    for (const StoreOptions& options : {StoreOptions{}, inline_options(), read_only()}) {
        const Error error = refusal_of(folder / "a.store", options);
        CHECK(error.kind == ErrorKind::incompatible);
        CHECK(error.what.find("its version is " + std::to_string(newer)) != std::string::npos);
        CHECK(content_of(folder / "a.store") == before);
    }
}

TEST_CASE("one writer at a time: a second one is told, by any way to write the name, and gets in afterwards") {
    TemporaryFolder folder;
    auto store = open_store(folder / "a.store");
    CHECK(refusal_of(folder / "a.store").kind == ErrorKind::in_use);
    std::filesystem::create_symlink(folder / "a.store", folder / "b.store");
    CHECK(Store::open(folder / "b.store").error().kind == ErrorKind::in_use);
    CHECK(Store::open(folder.path() / "." / "a.store").error().kind == ErrorKind::in_use);
    SUBCASE("from another process too") {
        const pid_t child = ::fork();
        if (child == 0) {
            const auto second = Store::open(folder / "a.store");
            std::_Exit(!second && second.error().kind == ErrorKind::in_use ? 0 : 1);
        }
        int status = 0;
        REQUIRE(::waitpid(child, &status, 0) == child);
        CHECK(status == 0);
    }
    SUBCASE("a reader gets in beside the writer, and sees what is committed") {
        auto reader = open_store(folder / "a.store", read_only());
        const auto records = some_records(one_evening, 30);
        store->append(one_evening, records);
        REQUIRE(store->flush().has_value());
        CHECK(bytes_of(stored_records(*reader, one_evening)) == bytes_of(records));
        CHECK(reader->committed(one_evening) == 29);
        reader->append(one_evening, records);
        reader->keep(one_evening, full_rep(RepId{0}));
        CHECK(reader->failure().has_value());
        CHECK(reader->counters().records_refused == 30);
        Athlete wren;
        wren.id = AthleteId{1};
        wren.call_sign = "Wren";
        CHECK_FALSE(reader->add_athlete(wren).has_value());
    }
    store.reset();
    CHECK(Store::open(folder / "a.store").has_value());
}

TEST_CASE("reading a store that is not there is told, and makes none") {
    TemporaryFolder folder;
    CHECK(refusal_of(folder / "a.store", read_only()).kind == ErrorKind::not_found);
    CHECK_FALSE(std::filesystem::exists(folder / "a.store"));
}

namespace {

// Root may write anywhere: the child gives its rights up first.
template <class Work>
int in_child_without_rights(Work&& work) {
    const pid_t child = ::fork();
    if (child == 0) {
        if (::geteuid() == 0 && (::setgid(65534) != 0 || ::setuid(65534) != 0)) std::_Exit(99);
        std::_Exit(work());
    }
    int status = 0;
    REQUIRE(::waitpid(child, &status, 0) == child);
    REQUIRE(WIFEXITED(status));
    return WEXITSTATUS(status);
}

int told_as(const std::filesystem::path& path, ErrorKind kind) {
    const auto store = Store::open(path);
    if (store) return 1;
    if (store.error().kind != kind) return 2;
    return store.error().what.find(path.string()) != std::string::npos && !store.error().to_do.empty() ? 0 : 3;
}

}  // namespace

TEST_CASE("a folder or a file that may not be written to is told") {
    TemporaryFolder folder;
    make_store_with_records(folder / "a.store", 3);
    ::chmod((folder / "a.store").c_str(), 0444);
    ::chmod((folder / "a.store.lock").c_str(), 0666);
    ::chmod(folder.path().c_str(), 0777);
    CHECK(in_child_without_rights([&] { return told_as(folder / "a.store", ErrorKind::system); }) == 0);
    ::chmod(folder.path().c_str(), 0555);
    CHECK(in_child_without_rights([&] { return told_as(folder / "new.store", ErrorKind::system); }) == 0);
    ::chmod(folder.path().c_str(), 0755);
    CHECK_FALSE(std::filesystem::exists(folder / "new.store"));
}

TEST_CASE("a damaged store is told as damaged, by the reading that meets the damage or by check()") {
    TemporaryFolder folder;
    make_store_with_records(folder / "a.store", 3000);
    const std::string whole = content_of(folder / "a.store");
    REQUIRE(whole.size() > 100'000);
    int told = 0, unnoticed = 0;
    for (std::size_t page = 1; page * 4096 < whole.size(); page += 3) {
        CAPTURE(page);
        std::string broken = whole;
        broken.replace(page * 4096, 16, 16, '\xa5');
        put(folder / "b.store", broken);
        auto store = Store::open(folder / "b.store");
        if (!store) {
            CHECK(store.error().kind == ErrorKind::damaged);
            ++told;
            continue;
        }
        const Expected<void> checked = (*store)->check();
        if (checked) {
            ++unnoticed;
        } else {
            CHECK(checked.error().kind == ErrorKind::damaged);
            CHECK(checked.error().what.find("b.store") != std::string::npos);
            ++told;
        }
    }
    CHECK(told >= 8);
    CHECK(unnoticed == 0);
}

TEST_CASE("a store that was cut short is told, not taken") {
    TemporaryFolder folder;
    make_store_with_records(folder / "a.store", 3000);
    const std::string whole = content_of(folder / "a.store");
    for (const std::size_t size : {std::size_t{60}, std::size_t{4096}, whole.size() / 2, whole.size() - 4096}) {
        CAPTURE(size);
        put(folder / "b.store", whole.substr(0, size));
        auto store = Store::open(folder / "b.store");
        const bool taken = store.has_value() && (*store)->check().has_value();
        CHECK_FALSE(taken);
    }
}

TEST_CASE("a record that is missing or can't be decoded ends the reading with its position") {
    TemporaryFolder folder;
    make_store_with_records(folder / "a.store", 20);
    SUBCASE("missing") {
        run_sql(folder / "a.store", "DELETE FROM events WHERE position = 7");
        auto store = open_store(folder / "a.store");
        std::int64_t seen = 0;
        const auto read = store->read_records(one_evening, [&](const JournalRecord&) { ++seen; });
        REQUIRE_FALSE(read.has_value());
        CHECK(read.error().kind == ErrorKind::damaged);
        CHECK(read.error().what.find("record 7") != std::string::npos);
        CHECK(seen == 7);
    }
    SUBCASE("undecodable") {
        run_sql(folder / "a.store", "UPDATE events SET kind = 13, bytes = x'00' WHERE position = 7");
        auto store = open_store(folder / "a.store");
        const auto read = store->read_records(one_evening, [](const JournalRecord&) {});
        REQUIRE_FALSE(read.has_value());
        CHECK(read.error().kind == ErrorKind::damaged);
        CHECK(read.error().what.find("record 7") != std::string::npos);
        CHECK_FALSE(store->check().has_value());
    }
    SUBCASE("a word that is none of ours") {
        run_sql(folder / "a.store", "UPDATE reps SET verdict = 'splendid'");
        auto store = open_store(folder / "a.store");
        const auto reps = store->reps(one_evening);
        REQUIRE_FALSE(reps.has_value());
        CHECK(reps.error().kind == ErrorKind::damaged);
        CHECK(reps.error().what.find("splendid") != std::string::npos);
    }
}

namespace {

// Collects the names a visitor list gives, in order.
template <class Row, class Visit>
std::vector<std::string> names_of(Visit&& visit) {
    Row row;
    columns::ColumnNames names;
    visit(row, names);
    return names.names();
}

std::vector<std::string> columns_of_table(const std::filesystem::path& path, const std::string& table) {
    SQLite::Database database(path.string());
    SQLite::Statement query(database, "SELECT name FROM pragma_table_info(?)");
    query.bind(1, table);
    std::vector<std::string> names;
    while (query.executeStep()) names.push_back(query.getColumn(0).getString());
    return names;
}

}  // namespace

TEST_CASE("every column of the tables is written, and every table is strict") {
    TemporaryFolder folder;
    make_store_with_records(folder / "a.store", 1);
    const auto path = folder / "a.store";
    auto reps = names_of<RepResult>([](auto& row, auto& names) { columns::visit_rep(row, names); });
    reps.insert(reps.begin(), "session");
    CHECK(columns_of_table(path, "reps") == reps);
    auto totals = names_of<SessionTotals>([](auto& row, auto& names) { columns::visit_totals(row, names); });
    totals.insert(totals.begin(), "session");
    CHECK(columns_of_table(path, "totals") == totals);
    auto sessions = names_of<SessionSummary>([](auto& row, auto& names) { columns::visit_session(row, names); });
    sessions.insert(sessions.begin(), "number");
    CHECK(columns_of_table(path, "sessions") == sessions);
    auto calibrations = names_of<Calibration>([](auto& row, auto& names) { columns::visit_calibration(row, names); });
    calibrations.insert(calibrations.begin(), "number");
    CHECK(columns_of_table(path, "calibrations") == calibrations);

    SQLite::Database database(path.string());
    SQLite::Statement tables(database,
                             "SELECT count(*), sum(strict) FROM pragma_table_list WHERE name NOT LIKE 'sqlite_%'");
    REQUIRE(tables.executeStep());
    CHECK(tables.getColumn(0).getInt() == 17);
    CHECK(tables.getColumn(1).getInt() == 17);
}
