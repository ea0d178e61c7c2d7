// What is whole in a damaged store is saved into a new one: pages overwritten anywhere, files cut short, a log beside.
#include "store/damaged/rescue.hpp"

#include <sqlite3.h>

#include <algorithm>
#include <fstream>
#include <iterator>
#include <map>

#include "places.hpp"
#include "store/schema.hpp"
#include "store_tests.hpp"

using namespace breakstep;
using namespace breakstep::testing;

namespace {

constexpr std::size_t page_bytes = 4096;  // SQLite's default, which the store leaves as it is
constexpr std::int64_t now = 1'800'000'000;

std::string content_of(const std::filesystem::path& path) {
    std::ifstream file(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), {}};
}

void put(const std::filesystem::path& path, const std::string& content) {
    std::ofstream(path, std::ios::binary) << content;
}

Athlete named(std::uint64_t id, const char* call_sign) {
    Athlete athlete;
    athlete.id = AthleteId{id};
    athlete.call_sign = call_sign;
    athlete.notes = "notes of " + athlete.call_sign;
    athlete.consent = Consent{"2024-09-30", "guardian", "2025-09-30"};
    athlete.consent_share_on = "2024-10-01";
    return athlete;
}

/// Three sessions of 400 records and 40 reps each, two athletes, 300 imported values, a calibration.
struct Evening {
    std::vector<Athlete> athletes{named(42, "Heron"), named(43, "Rook")};
    std::map<SessionId, std::vector<JournalRecord>> sessions;
    std::vector<Measure> measures;

    Evening() {
        for (const std::uint64_t id : {7U, 8U, 9U}) {
            auto records = some_records(SessionId{id}, 400, true, id);
            // One long enough to need pages of its own.
            records[200].event = UnknownEvent{900, std::string(3 * page_bytes, 'k')};
            sessions[SessionId{id}] = std::move(records);
        }
        for (int day = 0; day < 28; ++day)
            for (const char* measure : {"reaction_ms", "jumps", "steps", "reach_cm", "pulse"})
                for (const Athlete& athlete : athletes)
                    measures.push_back({athlete.id, measure,
                                        "2024-02-" + std::string(day < 9 ? "0" : "") + std::to_string(day + 1),
                                        0.25 * day});
    }
    void fill(Store& store) const {
        REQUIRE(store.add_all(athletes, measures).has_value());
        for (const auto& [id, records] : sessions) {
            store.append(id, records);
            for (int rep = 0; rep < 40; ++rep) store.keep(id, full_rep(RepId{rep}));
            SessionTotals totals = full_totals(1);
            totals.reps = 40;
            store.keep_totals(id, totals);
        }
        REQUIRE(store.flush().has_value());
        const Calibration last_written{OnsetSource::sound, "hall speaker", 100, 31'250'000ns, 400'000ns, 50};
        REQUIRE(store.add_calibration(last_written).has_value());
    }
};

Rescued rescued(const std::filesystem::path& damaged, const std::filesystem::path& fresh) {
    const auto report = rescue_store(damaged, fresh, now);
    const std::string why = report ? "" : report.error().text();
    REQUIRE_MESSAGE(report.has_value(), why);
    return *report;
}

/// Whatever is in the new store is as it was in the old one, but for at most `wrong_max` rows; journals are beginnings
/// without holes. Returns how many records it holds.
std::int64_t check_true(const Store& store, const Evening& evening, const Rescued& report, int wrong_max = 0) {
    int wrong = 0;
    CHECK(store.check().has_value());
    const auto athletes = store.athletes().value();
    for (const Athlete& athlete : athletes) {
        const auto old = std::find_if(evening.athletes.begin(), evening.athletes.end(),
                                      [&](const Athlete& one) { return one.id == athlete.id; });
        REQUIRE(old != evening.athletes.end());
        if (report.athletes_without_row == 0) wrong += athlete == *old ? 0 : 1;
        CHECK(athlete.call_sign == old->call_sign);
    }
    const auto measures = store.measures().value();
    for (const Measure& measure : measures)
        wrong += std::find(evening.measures.begin(), evening.measures.end(), measure) == evening.measures.end() ? 1 : 0;
    std::int64_t records = 0;
    const auto sessions = store.sessions().value();
    for (const SessionSummary& session : sessions) {
        const auto& old = evening.sessions.at(session.id);
        const auto kept = stored_records(store, session.id);
        records += static_cast<std::int64_t>(kept.size());
        for (std::size_t i = 0; i < kept.size(); ++i) wrong += bytes_of(kept[i]) == bytes_of(old[i]) ? 0 : 1;
        const bool cut = std::find(report.journals_cut.begin(), report.journals_cut.end(), session.number) !=
                         report.journals_cut.end();
        CHECK(cut == (kept.size() < old.size()));
        CHECK(session.how == (cut ? std::nullopt : std::optional(SessionEnd::stopped)));
        const std::uint64_t id = static_cast<std::uint64_t>(session.id);
        CHECK(session.number == static_cast<std::int64_t>(id) - 6);
        const auto reps = store.reps(session.id).value();
        for (const RepResult& rep : reps) wrong += rep == full_rep(rep.rep) ? 0 : 1;
    }
    CHECK(records == report.records);
    CHECK(wrong <= wrong_max);
    return records;
}

}  // namespace

TEST_CASE("a whole store is rescued whole") {
    TemporaryFolder folder;
    const Evening evening;
    evening.fill(*open_store(folder / "a.store", inline_options(50)));
    const Rescued report = rescued(folder / "a.store", folder / "new.store");
    CHECK(report.whole());
    CHECK(report.athletes == 2);
    CHECK(report.sessions == 3);
    CHECK(report.reps == 120);
    CHECK(report.measures == 280);
    const auto store = open_store(folder / "new.store");
    CHECK(check_true(*store, evening, report) == 1200);
    CHECK(store->measures().value().size() == 280);
    CHECK(store->calibrations().value().size() == 1);
    SessionTotals totals = full_totals(1);
    totals.reps = 40;
    CHECK(store->totals(SessionId{7}).value() == totals);
    // The damaged one still holds the athletes: erasing must be able to name it.
    REQUIRE(store->backups().value().size() == 1);
    CHECK(store->backups().value()[0].path == std::filesystem::canonical(folder / "a.store").string());
}

TEST_CASE("whichever page is overwritten, all the others are saved as they were") {
    TemporaryFolder folder;
    const Evening evening;
    evening.fill(*open_store(folder / "a.store", inline_options(50)));
    const std::string whole = content_of(folder / "a.store");
    const std::size_t pages = whole.size() / page_bytes;
    REQUIRE(pages > 40);
    Random random(3);
    for (std::size_t page = 0; page < pages; ++page) {
        CAPTURE(page);
        std::string broken = whole;
        // All of the page, or its head alone, from the middle on, or zeros.
        const std::size_t begin = page % 4 == 2 ? page_bytes / 2 : 0, count = page % 4 == 1 ? 64 : page_bytes - begin;
        for (std::size_t i = 0; i < count; ++i)
            broken[page * page_bytes + begin + i] = page % 4 == 3 ? '\0' : static_cast<char>(random.below(256));
        put(folder / "b.store", broken);
        const Rescued report = rescued(folder / "b.store", folder / "new.store");
        const auto store = open_store(folder / "new.store");
        // Nothing is lost but what stood in the page: never more rows than fit.
        CHECK(report.athletes == 2);
        CHECK(report.sessions == 3);
        CHECK(report.reps >= 120 - 30);
        CHECK(report.measures >= 280 - 140);
        CHECK(report.reps_missing == 120 - report.reps);
        // A page whose rows keep their lengths while their bytes change can't be told from a whole one: there are no
        // sums.
        const int rows_of_a_page = 100;
        (void)check_true(*store, evening, report, page % 4 < 2 ? 0 : rows_of_a_page);
        CHECK(content_of(folder / "b.store") == broken);
        std::filesystem::remove(folder / "new.store");
    }
}

TEST_CASE("of a store that was cut short the pages that are there are saved") {
    TemporaryFolder folder;
    const Evening evening;
    evening.fill(*open_store(folder / "a.store", inline_options(50)));
    const std::string whole = content_of(folder / "a.store");
    std::int64_t records_before = -1;
    for (const std::size_t share : {4U, 6U, 8U, 9U}) {
        CAPTURE(share);
        put(folder / "b.store", whole.substr(0, whole.size() * share / 10));
        const Rescued report = rescued(folder / "b.store", folder / "new.store");
        const std::int64_t records = check_true(*open_store(folder / "new.store"), evening, report);
        CHECK(records >= records_before);
        CHECK_FALSE(report.whole());
        records_before = records;
        std::filesystem::remove(folder / "new.store");
    }
    CHECK(records_before > 400);
}

TEST_CASE("what stands in the write-ahead log alone is saved too, even with a broken header") {
    TemporaryFolder folder;
    const Evening evening;
    auto store = open_store(folder / "a.store", inline_options(50));
    evening.fill(*store);
    REQUIRE(content_of(folder / "a.store-wal").size() > 100'000);
    std::string header = content_of(folder / "a.store");
    std::fill_n(header.begin(), std::min<std::size_t>(header.size(), 100), '\xa5');
    put(folder / "b.store", header);
    std::string log = content_of(folder / "a.store-wal");
    put(folder / "b.store-wal", log);
    const Rescued report = rescued(folder / "b.store", folder / "new.store");
    CHECK(report.whole());
    CHECK(check_true(*open_store(folder / "new.store"), evening, report) == 1200);
    // A log whose last frames are torn ends before them, as SQLite has it.
    log.resize(log.size() - 100);
    put(folder / "b.store-wal", log);
    const Rescued torn = rescued(folder / "b.store", folder / "torn.store");
    CHECK(check_true(*open_store(folder / "torn.store"), evening, torn) == 1200);
    const auto calibrations = open_store(folder / "torn.store")->calibrations().value();
    CHECK(calibrations.empty());  // the last that was written
}

TEST_CASE("a store of an older version is rescued into one of this version") {
    TemporaryFolder folder;
    std::ifstream file(BREAKSTEP_SOURCE_DIR "/tests/unit/store/version_1.sql");
    const std::string sql{std::istreambuf_iterator<char>(file), {}};
    sqlite3* database = nullptr;
    REQUIRE(sqlite3_open((folder / "old.store").c_str(), &database) == SQLITE_OK);
    REQUIRE(sqlite3_exec(database, sql.c_str(), nullptr, nullptr, nullptr) == SQLITE_OK);
    sqlite3_close(database);
    const Rescued report = rescued(folder / "old.store", folder / "new.store");
    CHECK(report.whole());
    const auto rescued_store = open_store(folder / "new.store");
    const auto old = open_store(folder / "old.store");  // which brings it up to date
    CHECK(rescued_store->athletes().value() == old->athletes().value());
    const auto sessions = old->sessions().value();
    REQUIRE(rescued_store->sessions().value() == sessions);
    REQUIRE_FALSE(sessions.empty());
    for (const SessionSummary& session : sessions) {
        CHECK(rescued_store->reps(session.id).value() == old->reps(session.id).value());
        CHECK(rescued_store->totals(session.id).value() == old->totals(session.id).value());
        CHECK(bytes_of(stored_records(*rescued_store, session.id)) == bytes_of(stored_records(*old, session.id)));
    }
}

TEST_CASE("what is no store, a store in use, a newer one or a new file that is there already is refused") {
    TemporaryFolder folder;
    put(folder / "notes.txt", std::string(9000, 'x'));
    CHECK(rescue_store(folder / "notes.txt", folder / "new.store", now).error().kind == ErrorKind::bad_input);
    CHECK(rescue_store(folder / "nowhere", folder / "new.store", now).error().kind == ErrorKind::not_found);
    CHECK(rescue_store(folder.path(), folder / "new.store", now).error().kind == ErrorKind::bad_input);
    {
        auto store = open_store(folder / "a.store");
        REQUIRE(store->add_athlete(named(1, "Heron")).has_value());
        CHECK(rescue_store(folder / "a.store", folder / "new.store", now).error().kind == ErrorKind::in_use);
    }
    CHECK(rescue_store(folder / "a.store", folder / "notes.txt", now).error().kind == ErrorKind::bad_input);
    CHECK(rescue_store(folder / "a.store", folder / "a.store", now).error().kind == ErrorKind::bad_input);
    CHECK(rescue_store(folder / "a.store", folder.path() / "no" / "new.store", now).error().kind ==
          ErrorKind::not_found);
    sqlite3* database = nullptr;
    REQUIRE(sqlite3_open((folder / "a.store").c_str(), &database) == SQLITE_OK);
    const std::string newer = "PRAGMA user_version = " + std::to_string(schema::newest_version() + 1);
    REQUIRE(sqlite3_exec(database, newer.c_str(), nullptr, nullptr, nullptr) == SQLITE_OK);
    sqlite3_close(database);
    CHECK(rescue_store(folder / "a.store", folder / "new.store", now).error().kind == ErrorKind::incompatible);
    CHECK_FALSE(std::filesystem::exists(folder / "new.store"));
    CHECK_FALSE(std::filesystem::exists(folder / ".part-new.store"));
    CHECK(content_of(folder / "notes.txt") == std::string(9000, 'x'));
}

TEST_CASE("any bytes at all end the rescue with an answer") {
    TemporaryFolder folder;
    const Evening evening;
    evening.fill(*open_store(folder / "a.store", inline_options(50)));
    const std::string whole = content_of(folder / "a.store");
    for (std::uint64_t seed = 0; seed < 40; ++seed) {
        CAPTURE(seed);
        Random random(seed);
        std::string broken = whole;
        // A few bytes in every page, so that lengths, pointers and chains are wrong in every way.
        for (std::size_t i = 0; i < broken.size() / 400; ++i)
            broken[random.below(static_cast<std::uint32_t>(broken.size()))] = static_cast<char>(random.below(256));
        put(folder / "b.store", broken);
        const auto report = rescue_store(folder / "b.store", folder / "new.store", now);
        if (!report) {
            CHECK_FALSE(report.error().to_do.empty());
            CHECK_FALSE(std::filesystem::exists(folder / "new.store"));
            continue;
        }
        CHECK(open_store(folder / "new.store")->check().has_value());
        std::filesystem::remove(folder / "new.store");
    }
}
