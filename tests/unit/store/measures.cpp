// Imported measures: kept whole or not at all, and gone with their athlete. A store of the first tables' version is
// brought up to date without loss.
#include <sqlite3.h>

#include <cmath>
#include <fstream>
#include <iterator>
#include <limits>

#include "core/evening/evening_events.hpp"
#include "core/iso_date.hpp"
#include "places.hpp"
#include "store/restore.hpp"
#include "store/text_rules.hpp"
#include "store_tests.hpp"

using namespace breakstep;
using namespace breakstep::testing;

namespace {

Athlete athlete_named(std::uint64_t id, const std::string& call_sign) {
    Athlete athlete;
    athlete.id = AthleteId{id};
    athlete.call_sign = call_sign;
    return athlete;
}

void run_sql_file(const std::filesystem::path& path, const char* sql_file) {
    std::ifstream file(std::string(BREAKSTEP_SOURCE_DIR) + "/tests/unit/store/" + sql_file);
    const std::string sql{std::istreambuf_iterator<char>(file), {}};
    REQUIRE_FALSE(sql.empty());
    sqlite3* database = nullptr;
    REQUIRE(sqlite3_open(path.c_str(), &database) == SQLITE_OK);
    REQUIRE(sqlite3_exec(database, sql.c_str(), nullptr, nullptr, nullptr) == SQLITE_OK);
    sqlite3_close(database);
}

}  // namespace

TEST_CASE("measures come back in order of athlete, measure and date") {
    TemporaryFolder folder;
    auto store = open_store(folder / "a.store");
    const std::vector<Athlete> athletes{athlete_named(1, "Heron"), athlete_named(2, "Rook")};
    const std::vector<Measure> given{{AthleteId{2}, "reaction_ms", "2024-03-02", -0.1},
                                     {AthleteId{1}, "reaction_ms", "2024-03-09", 1e300},
                                     {AthleteId{1}, "reaction_ms", "2024-03-02", 249.56},
                                     {AthleteId{1}, "jump \"cm\"", "2024-03-02", 31}};
    REQUIRE(store->add_all(athletes, given).has_value());
    CHECK(store->measures().value() == std::vector<Measure>{given[3], given[2], given[1], given[0]});
    CHECK(store->athletes().value() == athletes);
    store.reset();
    CHECK(open_store(folder / "a.store")->measures().value().size() == 4);
}

TEST_CASE("one measure or athlete that can't be keeps all the others out") {
    TemporaryFolder folder;
    auto store = open_store(folder / "a.store");
    const std::vector<Athlete> first{athlete_named(1, "Heron")};
    const std::vector<Measure> kept{{AthleteId{1}, "reaction_ms", "2024-03-02", 250}};
    REQUIRE(store->add_all(first, kept).has_value());
    const auto refused = [&](std::vector<Athlete> athletes, std::vector<Measure> measures) {
        measures.insert(measures.begin(), Measure{AthleteId{1}, "reaction_ms", "2024-03-16", 240});
        athletes.insert(athletes.begin(), athlete_named(7, "Dunlin"));
        const Expected<void> added = store->add_all(athletes, measures);
        REQUIRE_FALSE(added.has_value());
        CHECK(added.error().kind == ErrorKind::bad_input);
        CHECK_FALSE(added.error().to_do.empty());
        CHECK(store->measures().value() == kept);
        CHECK(store->athletes().value() == first);
        return added.error().what;
    };
    CHECK(refused({}, {{AthleteId{1}, "reaction_ms", "2024-03-02", 251}}).find("already") != std::string::npos);
    CHECK(refused({}, {{AthleteId{1}, "reaction_ms", "2024-03-16", 251}}).find("already") != std::string::npos);
    CHECK(refused({}, {{AthleteId{9}, "reaction_ms", "2024-03-02", 251}}).find("not in the store") !=
          std::string::npos);
    CHECK(refused({}, {{AthleteId{1}, "reaction_ms", "2023-02-29", 251}}).find("no date") != std::string::npos);
    CHECK(refused({}, {{AthleteId{1}, "", "2024-03-02", 251}}).find("no name") != std::string::npos);
    CHECK(refused({}, {{AthleteId{1}, std::string(201, 'm'), "2024-03-02", 251}}).find("too long") !=
          std::string::npos);
    for (const double value : {std::nan(""), std::numeric_limits<double>::infinity()})
        CHECK(refused({}, {{AthleteId{1}, "x", "2024-03-02", value}}).find("no number") != std::string::npos);
    CHECK(refused({athlete_named(8, "hERON")}, {}).find("taken") != std::string::npos);
    CHECK(refused({athlete_named(8, "Rook"), athlete_named(9, "ROOK")}, {}).find("taken") != std::string::npos);
    CHECK(refused({athlete_named(8, "R\xff")}, {}).find("UTF-8") != std::string::npos);
    CHECK(refused({athlete_named(8, "R\xc0\xaf")}, {}).find("UTF-8") != std::string::npos);
    CHECK(refused({athlete_named(8, "R\xed\xa0\x80")}, {}).find("UTF-8") != std::string::npos);
}

TEST_CASE("a consent has a day, somebody who gave it, and ends after it began") {
    TemporaryFolder folder;
    auto store = open_store(folder / "a.store");
    const auto with = [&](std::uint64_t id, const Consent& consent) {
        Athlete athlete = athlete_named(id, "A" + std::to_string(id));
        athlete.consent = consent;
        return store->add_athlete(athlete).has_value();
    };
    CHECK(with(1, {"2024-09-30", "guardian", ""}));
    CHECK(with(2, {"2024-09-30", "guardian", "2025-09-30"}));
    CHECK_FALSE(with(3, {"30.9.2024", "guardian", ""}));
    CHECK_FALSE(with(4, {"2024-09-30", "", ""}));
    CHECK_FALSE(with(5, {"2024-09-30", "guardian", "2024-09-29"}));
    CHECK_FALSE(with(6, {"2024-09-30", "guardian", "soon"}));
    const auto answered = [&](std::uint64_t id, bool consent, const char* refused_on, const char* share_on) {
        Athlete athlete = athlete_named(id, "A" + std::to_string(id));
        if (consent) athlete.consent = Consent{"2024-09-30", "guardian", ""};
        athlete.consent_refused_on = refused_on;
        athlete.consent_share_on = share_on;
        return store->add_athlete(athlete).has_value();
    };
    CHECK(answered(7, false, "2024-09-30", ""));
    CHECK(answered(8, true, "", "2024-09-30"));
    CHECK_FALSE(answered(9, true, "2024-09-30", ""));
    CHECK_FALSE(answered(10, false, "", "2024-09-30"));
    CHECK_FALSE(answered(11, false, "yesterday", ""));
    CHECK_FALSE(answered(12, true, "", "2024-02-30"));
}

TEST_CASE("dates are those of the calendar") {
    // 2024 and 2000 are leap years, 1900 and 2023 are none: the Gregorian rule.
    for (const char* date : {"2024-02-29", "2000-02-29", "1900-01-01", "2200-12-31"}) {
        const auto read = date_from(date);
        REQUIRE(read.has_value());
        CHECK(date_text(*read) == date);
    }
    for (const char* text : {"", "2023-02-29", "1900-02-29", "2024-13-01", "2024-00-10", "2024-1-01", "24-01-01",
                             "2024/01/01", "01.02.2024", "2024-01-01 ", "+024-01-01", "2024-01-0x", "1899-12-31"})
        CHECK_FALSE_MESSAGE(date_from(text).has_value(), text);
}

TEST_CASE("a store of the first version is brought up to date and loses nothing") {
    TemporaryFolder folder;
    const auto path = folder / "old.store";
    run_sql_file(path, "version_1.sql");
    StoreOptions looking;
    looking.mode = StoreMode::read_only;
    const auto unread = Store::open(path, looking);
    REQUIRE_FALSE(unread.has_value());
    CHECK(unread.error().kind == ErrorKind::incompatible);
    {
        auto store = open_store(path);
        CHECK(store->check().has_value());
        const auto sessions = store->sessions().value();
        REQUIRE(sessions.size() == 1);
        // As the program that wrote it counted them.
        CHECK(sessions[0].events == 159);
        CHECK(store->reps(sessions[0].id).value().size() == 3);
        const SessionTotals totals = store->totals(sessions[0].id).value().value();
        CHECK(totals.reps == 3);
        // What that version had no column for is as if nothing had been counted.
        CHECK(totals.misplaced_events == 0);
        CHECK(totals.impossible_events == 0);
        CHECK_FALSE(totals.clock_rate_ppm.has_value());
        CHECK(totals.read_wealth == 1);
        CHECK(totals.read_sign == Sign::none);
        CHECK(totals.read_reason.empty());
        CHECK_FALSE(totals.two_signs);
        const auto heron = store->find_athlete("Heron").value();
        REQUIRE(heron.has_value());
        CHECK(heron->notes == "left knee");
        CHECK(heron->consent == Consent{"2024-09-30", "guardian", ""});
        CHECK(store->measures().value().empty());
        const Measure past{heron->id, "reaction_ms", "2024-03-02", 250};
        REQUIRE(store->add_all({}, {&past, 1}).has_value());
    }
    CHECK(open_store(path, looking)->measures().value().size() == 1);
}

TEST_CASE("a store of the version before clubs met is brought up to date and loses nothing, its evening neither") {
    TemporaryFolder folder;
    const auto path = folder / "old.store";
    run_sql_file(path, "version_5.sql");
    auto store = open_store(path);
    CHECK(store->check().has_value());
    const auto sessions = store->sessions().value();
    REQUIRE(sessions.size() == 2);
    // As the program that wrote it counted them.
    CHECK(sessions[0].events + sessions[1].events == 215);
    CHECK(store->reps(sessions[1].id).value().size() == 4);
    CHECK(store->athletes().value().size() == 16);
    CHECK(store->measures().value().size() == 1);
    const auto evening = store->last_evening().value();
    REQUIRE(evening.has_value());
    CHECK(evening->ended);
    CHECK(store->read_evening(evening->id, [](const evening::EveningRecord&) {}).value() == 79);
    // Nothing was said yet of what clubs tell each other; what is changed from now on is.
    CHECK(store->club_notes()->changes.empty());
    CHECK(store->club_notes()->erased.empty());
    Athlete heron = store->find_athlete("Heron").value().value();
    heron.consent = Consent{"2024-09-30", "guardian", ""};
    heron.consent_share_on = "2024-09-30";
    REQUIRE(store->change_athlete(heron).has_value());
    const auto changes = store->club_notes()->changes;
    REQUIRE(changes.size() == 1);
    CHECK(changes[0].athlete == heron.id);
    CHECK(changes[0].field == "consent");
    CHECK(changes[0].author != 0);
    CHECK(store->check().has_value());
}

TEST_CASE("a backup is its owner's alone, and where it went is noted") {
    TemporaryFolder folder;
    auto store = open_store(folder / "a.store");
    REQUIRE(store->backup(folder / "copy.store").has_value());
    const auto status = std::filesystem::status(folder / "copy.store");
    CHECK(status.permissions() == (std::filesystem::perms::owner_read | std::filesystem::perms::owner_write));
    const auto noted = store->backups().value();
    REQUIRE(noted.size() == 1);
    CHECK(noted[0].path == (folder / "copy.store").string());
    CHECK(noted[0].made_unix_seconds > 1'700'000'000);
}

TEST_CASE("a folder that reports are put into is noted once, comes along with a backup, and survives a restore") {
    TemporaryFolder folder;
    const auto pages = folder / "pages", more = folder / "more";
    {
        auto store = open_store(folder / "a.store");
        CHECK(store->note_made_in(pages).value());
        CHECK(store->note_made_in(folder.path() / "no" / ".." / "pages").value());
        CHECK(store->note_made_in(pages.string() + "/").value());
        CHECK(store->folders_made_in().value() == std::vector{pages});
        REQUIRE(store->backup(folder / "copy.store").has_value());
        // Beside whoever writes the store, through one that reads.
        StoreOptions reading;
        reading.mode = StoreMode::read_only;
        CHECK(open_store(folder / "a.store", reading)->note_made_in(more).value());
        CHECK(store->folders_made_in().value() == std::vector{pages, more});
    }
    REQUIRE(restore_store(folder / "copy.store", folder / "a.store", 1'700'000'000).has_value());
    CHECK(open_store(folder / "a.store")->folders_made_in().value() == std::vector{pages, more});
}
