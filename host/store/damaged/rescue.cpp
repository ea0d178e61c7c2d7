#include "store/damaged/rescue.hpp"

#include <array>
#include <optional>
#include <string>
#include <system_error>

#include "files/new_file.hpp"
#include "store/damaged/page_rows.hpp"
#include "store/damaged/rescue_tables.hpp"
#include "store/damaged/store_pages.hpp"
#include "store/database.hpp"
#include "store/identity.hpp"
#include "store/ledger.hpp"
#include "store/schema.hpp"
#include "store/store.hpp"
#include "store/store_lock.hpp"
#include "store/sums.hpp"
#include "store/usable.hpp"
#include "store/values.hpp"

namespace breakstep {
namespace {

namespace fs = std::filesystem;
using columns::Binder;
using columns::RowReader;

std::int64_t count_in(SQLite::Database& database, const std::string& sql) {
    return database.execAndGet(sql).getInt64();
}

// ---- rows that hold what no version of ours wrote -------------------------------------------------------------------

// `read` reads a row's columns and tells whether they can stand. Returns how many rows went.
template <class Read>
std::int64_t drop_unusable(SQLite::Database& database, const std::string& table, const std::string& key,
                           const std::string& names, Read&& read) {
    std::vector<std::string> unusable;  // keys, as SQL writes them
    SQLite::Statement query(database, "SELECT quote(" + key + "), " + names + " FROM " + table);
    while (query.executeStep()) {
        try {
            RowReader row(query, 1);
            if (read(row)) continue;
        } catch (const columns::UnreadableValue&) {
        }
        unusable.push_back(query.getColumn(0).getString());
    }
    for (const std::string& value : unusable) database.exec("DELETE FROM " + table + " WHERE " + key + " = " + value);
    return static_cast<std::int64_t>(unusable.size());
}

template <class Row, class Visit>
std::string names_of(Visit&& visit) {
    Row shape;
    columns::ColumnNames names;
    visit(shape, names);
    return names.list();
}

// The key of a table without row numbers, in one value: its columns, parted.
constexpr const char* rep_key = "session || ' ' || rep";
constexpr const char* measure_key = "athlete || ' ' || date || ' ' || measure";

std::int64_t drop_all_unusable(SQLite::Database& database) {
    const auto athlete = [](auto& row, auto& names) { columns::visit_athlete(row, names); };
    const auto consent = [](auto& row, auto& names) { columns::visit_consent(row, names); };
    const auto session = [](auto& row, auto& names) { columns::visit_session(row, names); };
    const auto rep = [](auto& row, auto& names) { columns::visit_rep(row, names); };
    const auto totals = [](auto& row, auto& names) { columns::visit_totals(row, names); };
    const auto measure = [](auto& row, auto& names) { columns::visit_measure(row, names); };
    const auto calibration = [](auto& row, auto& names) { columns::visit_calibration(row, names); };
    // Reading alone finds the words that are none of ours.
    const auto reads = [](auto shape, auto visit) {
        return [shape, visit](RowReader& row) mutable {
            visit(shape, row);
            return true;
        };
    };
    std::int64_t dropped =
        drop_unusable(database, "athletes", "id", names_of<Athlete>(athlete) + ", " + names_of<Consent>(consent),
                      [&](RowReader& row) {
                          Athlete read;
                          athlete(read, row);
                          if (!row.is_null()) consent(read.consent.emplace(), row);
                          return usable(read).has_value();
                      });
    dropped += drop_unusable(database, "measures", measure_key, names_of<Measure>(measure), [&](RowReader& row) {
        Measure read;
        measure(read, row);
        return usable(read).has_value();
    });
    dropped += drop_unusable(database, "sessions", "number", names_of<SessionSummary>(session),
                             reads(SessionSummary{}, session));
    dropped += drop_unusable(database, "reps", rep_key, names_of<RepResult>(rep), reads(RepResult{}, rep));
    dropped +=
        drop_unusable(database, "totals", "session", names_of<SessionTotals>(totals), reads(SessionTotals{}, totals));
    return dropped + drop_unusable(database, "calibrations", "number", names_of<Calibration>(calibration),
                                   reads(Calibration{}, calibration));
}

// ---- journals -------------------------------------------------------------------------------------------------------

// A session's records from the first, up to a hole or one that can't be decoded.
struct Beginning {
    std::int64_t records = 0;
    std::optional<SessionBegan> began;
    std::optional<SessionEnd> ended;
};

Beginning beginning_of(SQLite::Database& database, std::int64_t number) {
    SQLite::Statement query(database, "SELECT position, kind, bytes FROM events WHERE session = ? ORDER BY position");
    query.bind(1, number);
    Beginning beginning;
    while (query.executeStep() && query.getColumn(0).getInt64() == beginning.records) {
        const SQLite::Column bytes = query.getColumn(2);
        const auto event =
            decode(static_cast<std::uint16_t>(query.getColumn(1).getInt()),
                   {static_cast<const char*>(bytes.getBlob()), static_cast<std::size_t>(bytes.getBytes())});
        if (!event) break;
        if (const auto* began = std::get_if<SessionBegan>(&*event); began != nullptr && beginning.records == 0)
            beginning.began = *began;
        if (const auto* ended = std::get_if<SessionEnded>(&*event)) beginning.ended = ended->how;
        ++beginning.records;
    }
    return beginning;
}

void rebuild_session(SQLite::Database& database, std::int64_t number, const Beginning& beginning) {
    SessionSummary summary = summary_of(*beginning.began);
    summary.how = beginning.ended;
    columns::ColumnNames names;
    columns::visit_session(summary, names);
    SQLite::Statement insert(
        database, "INSERT INTO sessions (number, " + names.list() + ") VALUES (?, " + names.placeholders() + ")");
    Binder binder(insert);
    binder.put(number);
    columns::visit_session(summary, binder);
    insert.exec();
}

std::vector<std::int64_t> numbers_from(SQLite::Database& database, const std::string& sql) {
    std::vector<std::int64_t> numbers;
    SQLite::Statement query(database, sql);
    while (query.executeStep()) numbers.push_back(query.getColumn(0).getInt64());
    return numbers;
}

void mend_session(SQLite::Database& database, std::int64_t number, Rescued& rescued) {
    const std::string where = " WHERE session = " + std::to_string(number);
    const Beginning beginning = beginning_of(database, number);
    const bool known = count_in(database, "SELECT count(*) FROM sessions WHERE number = " + std::to_string(number)) > 0;
    const bool same_id =
        beginning.began &&
        count_in(database, "SELECT count(*) FROM sessions WHERE id = " +
                               std::to_string(static_cast<std::int64_t>(beginning.began->session))) > 0;
    if (!known && (!beginning.began || same_id)) {
        // Nobody can say whose these were.
        for (const char* table : {"events", "reps", "totals", "session_sums"})
            rescued.rows_dropped += database.exec(std::string("DELETE FROM ") + table + where);
        return;
    }
    if (!known) {
        rebuild_session(database, number, beginning);
        ++rescued.sessions_rebuilt;
    }
    rescued.rows_dropped +=
        database.exec("DELETE FROM events" + where + " AND position >= " + std::to_string(beginning.records));
    const bool said_to_have_ended =
        count_in(database, "SELECT how IS NOT NULL FROM sessions WHERE number = " + std::to_string(number)) != 0;
    const bool has_all = beginning.began && (beginning.ended || (known && !said_to_have_ended));
    if (!has_all) rescued.journals_cut.push_back(number);
    if (said_to_have_ended && !beginning.ended)
        database.exec("UPDATE sessions SET how = NULL WHERE number = " + std::to_string(number));
}

// Call-signs stand in an index too: the only rows of a text and a number that the store has.
using NamesFound = std::vector<std::pair<std::string, std::int64_t>>;

void take_name(const PageRow& row, NamesFound& names) {
    if (row.by_rowid || row.values.size() != 2) return;
    const auto* name = std::get_if<std::string>(&row.values[0]);
    const auto* id = std::get_if<std::int64_t>(&row.values[1]);
    if (name != nullptr && id != nullptr) names.emplace_back(*name, *id);
}

void give_names_back(SQLite::Database& database, const NamesFound& names) {
    SQLite::Statement update(database,
                             "UPDATE OR IGNORE athletes SET call_sign = ? WHERE id = ? AND call_sign IS NULL");
    for (const auto& [name, id] : names) {
        Athlete shape;
        shape.id = AthleteId{1};
        shape.call_sign = name;
        if (!usable(shape)) continue;
        update.bindNoCopy(1, name);
        update.bind(2, id);
        update.exec();
        update.reset();
    }
}

// What belongs to nothing, and what is referred to and lost.
void mend(SQLite::Database& database, Rescued& rescued) {
    rescued.rows_dropped += drop_all_unusable(database);
    for (const std::int64_t number :
         numbers_from(database,
                      "SELECT number FROM sessions UNION SELECT session FROM events UNION SELECT session "
                      "FROM reps UNION SELECT session FROM totals ORDER BY 1"))
        mend_session(database, number, rescued);
    rescued.athletes_without_row = database.exec(
        "INSERT INTO athletes (id) SELECT athlete FROM (SELECT athlete FROM sessions UNION SELECT athlete FROM "
        "measures) WHERE athlete <> 0 AND athlete NOT IN (SELECT id FROM athletes)");
    rescued.rows_dropped += database.exec("DELETE FROM measures WHERE athlete NOT IN (SELECT id FROM athletes)");
    database.exec("UPDATE sessions SET athlete = NULL WHERE athlete NOT IN (SELECT id FROM athletes)");
    rescued.athletes = count_in(database, "SELECT count(*) FROM athletes");
    rescued.sessions = count_in(database, "SELECT count(*) FROM sessions");
    rescued.reps = count_in(database, "SELECT count(*) FROM reps");
    rescued.records = count_in(database, "SELECT count(*) FROM events");
    rescued.measures = count_in(database, "SELECT count(*) FROM measures");
    rescued.numbers_missing = count_in(database, "SELECT ifnull(max(number), 0) - count(*) FROM sessions");
    rescued.reps_missing = count_in(
        database,
        "SELECT ifnull(sum(max(0, totals.reps - (SELECT count(*) FROM reps WHERE reps.session = totals.session))), 0) "
        "FROM totals");
}

void note_damaged(SQLite::Database& database, const fs::path& damaged, std::int64_t now_unix_seconds) {
    SQLite::Statement insert(database, "INSERT INTO backups (path, made_unix_s) VALUES (?, ?)");
    insert.bind(1, damaged.string());
    insert.bind(2, now_unix_seconds);
    insert.exec();
}

// ---- the new file ---------------------------------------------------------------------------------------------------

Expected<Rescued> fill(const fs::path& damaged, StorePages& file, const fs::path& copy, std::int64_t now_unix_seconds) {
    if (const auto made = lay_out_store(copy); !made) return tl::make_unexpected(made.error());
    Expected<Rescued> rescued = guarded(copy, "written", [&]() -> Rescued {
        Rescued filled;
        SQLite::Database database(copy.string(), SQLite::OPEN_READWRITE);
        // Rows come in the order of pages, so what one refers to may come after it; mend() sees to the rest.
        database.exec("PRAGMA foreign_keys = OFF; PRAGMA secure_delete = ON; PRAGMA synchronous = NORMAL;");
        SQLite::Transaction transaction(database);
        RescueTables tables(database);
        NamesFound names;
        const PageCounts counts = read_page_rows(file, [&](PageRow& row) {
            take_name(row, names);
            tables.take(row);
        });
        filled.rows_unreadable = counts.rows_unreadable;
        filled.rows_dropped = tables.refused();
        if (tables.taken() == 0) return filled;
        const sums::Changed changed = sums::compare(database);
        filled.sessions_changed = changed.session_rows;
        filled.results_changed = changed.session_reps;
        filled.tables_changed = changed.tables;
        mend(database, filled);
        give_names_back(database, names);
        note_damaged(database, damaged, now_unix_seconds);
        // Those that were found were over what was lost, too.
        database.exec("DELETE FROM session_sums; DELETE FROM table_sums;");
        sums::renew_all(database);
        transaction.commit();
        return filled;
    });
    if (!rescued) return rescued;
    if (rescued->athletes + rescued->sessions == 0)
        return failure(ErrorKind::bad_input, "nothing of a breakstep store was found in " + damaged.string(),
                       "name another file with --store FILE, or bring a backup back with `breakstep restore`");
    StoreOptions options;
    options.mode = StoreMode::inline_writes;
    auto store = Store::open(copy, options);
    if (!store) return tl::make_unexpected(store.error());
    if (const auto whole = (*store)->check(); !whole) return tl::make_unexpected(whole.error());
    if (const auto closed = (*store)->close(); !closed) return tl::make_unexpected(closed.error());
    return rescued;
}

}  // namespace

Expected<Rescued> rescue_store(const fs::path& given, const fs::path& fresh, std::int64_t now_unix_seconds) {
    std::error_code problem;
    const fs::path damaged = fs::weakly_canonical(fs::absolute(given, problem), problem);
    if (fs::exists(damaged, problem) && !fs::is_regular_file(damaged, problem))
        return failure(ErrorKind::bad_input, given.string() + " is no file, so no store", "name the store's own file");
    if (!fs::is_regular_file(damaged, problem))
        return failure(ErrorKind::not_found, "there is no store " + given.string(), "check the name after --store");
    const Expected<StoreLock> lock = StoreLock::take_if_any(damaged);
    // In a folder that can't be written to, nobody else writes.
    if (!lock && lock.error().kind == ErrorKind::in_use) return tl::make_unexpected(lock.error());
    Expected<StorePages> file = StorePages::open(damaged);
    if (!file) return tl::make_unexpected(file.error());
    if (file->user_version() && *file->user_version() > schema::newest_version())
        return failure(ErrorKind::incompatible, "the store " + damaged.string() + " was made by a newer breakstep",
                       "rescue it with the newer breakstep");
    Expected<files::NewFile> target = files::NewFile::begin(fresh, files::Existing::refuse);
    if (!target) return tl::make_unexpected(target.error());
    const fs::path& copy = target->passing();
    remove_side_files(copy);  // of a rescue that was cut off
    Expected<Rescued> rescued = fill(damaged, *file, copy, now_unix_seconds);
    if (rescued) {
        // What stood beside it goes before it has its name: a kill in between leaves nothing that is not looked for.
        const auto placed = no_log_left(copy).and_then([&] {
            remove_side_files(copy);
            return target->commit();
        });
        if (!placed) rescued = tl::make_unexpected(placed.error());
    }
    remove_side_files(copy);
    return rescued;
}

}  // namespace breakstep
