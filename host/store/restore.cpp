#include "store/restore.hpp"

#include <sqlite3.h>

#include <algorithm>
#include <ctime>
#include <string>
#include <system_error>

#include "files/new_file.hpp"
#include "files/place.hpp"
#include "store/daily_backup.hpp"
#include "store/damaged/page_rows.hpp"
#include "store/damaged/rescue_tables.hpp"
#include "store/database.hpp"
#include "store/identity.hpp"
#include "store/schema.hpp"
#include "store/store_lock.hpp"
#include "store/text_rules.hpp"
#include "store/values.hpp"

namespace breakstep {
namespace {

namespace fs = std::filesystem;

void check_whole(SQLite::Database& database) {
    SQLite::Statement check(database, "PRAGMA integrity_check(1)");
    if (!check.executeStep() || check.getColumn(0).getString() != "ok")
        throw columns::UnreadableValue(check.getColumn(0).getString());
}

// The backup's content in a new file, as one consistent state even if the backup has a write-ahead log of its own.
Expected<void> copy_whole(const fs::path& backup, const fs::path& copy) {
    return guarded(backup, "read", [&] {
        SQLite::Database database(backup.string(), SQLite::OPEN_READONLY, 2000);
        sqlite3_db_config(database.getHandle(), SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1, nullptr);
        check_whole(database);
        SQLite::Statement vacuum(database, "VACUUM INTO ?");
        vacuum.bind(1, copy.string());
        vacuum.exec();
    });
}

// Opens the copy as a store (which refuses other programs' files and newer versions, and brings it up to date), reads
// all of it, and closes it again.
Expected<Restored> examine(const fs::path& copy, const fs::path& backup) {
    StoreOptions options;
    options.mode = StoreMode::inline_writes;
    const auto named = [&](Error error) {
        if (error.kind == ErrorKind::no_space) return tl::make_unexpected(error);
        const std::string wrong = copy.string();
        for (auto at = error.what.find(wrong); at != std::string::npos; at = error.what.find(wrong, at + 1))
            error.what.replace(at, wrong.size(), backup.string());
        error.to_do = "name another backup; the store was left as it is";
        return tl::make_unexpected(error);
    };
    auto store = Store::open(copy, options);
    if (!store) return named(store.error());
    if (const auto whole = (*store)->check(); !whole) return named(whole.error());
    const auto athletes = (*store)->athletes();
    const auto sessions = (*store)->sessions();
    const auto measures = (*store)->measures();
    if (!athletes) return named(athletes.error());
    if (!sessions) return named(sessions.error());
    if (!measures) return named(measures.error());
    Restored restored;
    restored.athletes = static_cast<std::int64_t>(athletes->size());
    restored.sessions = static_cast<std::int64_t>(sessions->size());
    restored.measures = static_cast<std::int64_t>(measures->size());
    if (const auto closed = (*store)->close(); !closed) return named(closed.error());
    return restored;
}

// "club.db.replaced-2024-09-30", with -2, -3 where that is taken.
fs::path name_to_keep(const fs::path& store, std::int64_t now_unix_seconds) {
    const auto now = static_cast<std::time_t>(now_unix_seconds);
    std::tm local{};
    localtime_r(&now, &local);
    char date[32];
    std::strftime(date, sizeof date, "%Y-%m-%d", &local);
    const fs::path first = with_ending(store, std::string(".replaced-") + date);
    std::error_code ignored;
    fs::path name = first;
    for (int i = 2; fs::exists(name, ignored); ++i) name = with_ending(first, "-" + std::to_string(i));
    return name;
}

// Everything that the store in place holds, in its file alone: what its write-ahead log has is brought home. Fails
// where the store is not whole, or somebody reads it.
Expected<void> bring_home(const fs::path& store) {
    Expected<void> home = guarded(store, "read", [&] {
        SQLite::Database database(store.string(), SQLite::OPEN_READWRITE, 2000);
        check_whole(database);
        SQLite::Statement checkpoint(database, "PRAGMA wal_checkpoint(TRUNCATE)");
        if (checkpoint.executeStep() && checkpoint.getColumn(0).getInt() != 0)
            throw SQLite::Exception("a reader still uses the write-ahead log", SQLITE_BUSY);
    });
    return home.and_then([&] { return no_log_left(store); });
}

// Whether rows of ours stand in a file whose head is gone.
bool holds_our_rows(const fs::path& path) {
    Expected<StorePages> file = StorePages::open(path);
    if (!file) return false;
    return guarded(path, "read",
                   [&] {
                       SQLite::Database database(":memory:", SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE);
                       for (const std::string_view step : schema::steps()) database.exec(std::string(step));
                       RescueTables tables(database);
                       read_page_rows(*file, [&](PageRow& row) { tables.take(row); });
                       return tables.taken() > 0;
                   })
        .value_or(false);
}

// Whether a backup may take the place of what stands there: a store; a damaged one only if that is meant.
Expected<void> may_be_replaced(const fs::path& store, bool even_damaged) {
    const Expected<Looks> looks = looks_of(store);
    if (!looks) return tl::make_unexpected(looks.error());
    switch (*looks) {
        case Looks::absent:
        case Looks::empty:
        case Looks::first_start_cut:
        case Looks::store:
            return {};
        case Looks::other_database:
            return tl::make_unexpected(other_database_error(store));
        case Looks::unmarked:
        case Looks::no_database:
            break;
    }
    if (even_damaged && holds_our_rows(store)) return {};
    return failure(ErrorKind::bad_input, store.string() + " is not a breakstep store: no backup takes its place",
                   "name the store with --store FILE; this file was left as it is" +
                       std::string(even_damaged ? "" : " (--even-damaged where it was a store once)"));
}

// Keeps the store in place under another name, to the byte, before the backup takes its place. Until then it stands
// whole where it is.
Expected<void> keep_replaced(const fs::path& store, const fs::path& kept, bool even_damaged) {
    // Opening a damaged store changes it; where no log waits there is nothing to bring home.
    std::error_code problem;
    const fs::path log = with_ending(store, "-wal");
    const bool log_waits = fs::exists(log, problem) && fs::file_size(log, problem) > 0;
    if (even_damaged && !log_waits) return files::copy_whole(store, kept, files::Existing::refuse);
    if (const Expected<void> home = bring_home(store); !home) {
        Error error = home.error();
        const bool broken = error.kind == ErrorKind::damaged || error.kind == ErrorKind::bad_input;
        if (!broken) return home;
        error.to_do = "`breakstep rescue NEW-FILE --store " + shell_word(store.string()) +
                      "` saves what is whole; `breakstep restore` with --even-damaged puts a backup in its place, and "
                      "keeps this one beside";
        if (!even_damaged) return tl::make_unexpected(error);
    }
    if (fs::exists(log, problem) && fs::file_size(log, problem) > 0)
        if (Expected<void> copied = files::copy_whole(log, with_ending(kept, "-wal"), files::Existing::replace);
            !copied)
            return copied;
    return files::copy_whole(store, kept, files::Existing::refuse);
}

// Where copies of the store, and reports and captures out of it, were put.
struct Notes {
    std::vector<BackupNote> copies;
    std::vector<fs::path> folders;
};

// Of the store in place; none if it can't be read: it is kept, and named, all the same.
Notes notes_in(const fs::path& store) {
    StoreOptions options;
    options.mode = StoreMode::read_only;
    const auto opened = Store::open(store, options);
    if (!opened) return {};
    return {(*opened)->backups().value_or(std::vector<BackupNote>()),
            (*opened)->folders_made_in().value_or(std::vector<fs::path>())};
}

// The backup does not know of itself, nor of what was made after it: erasing must find it all the same.
Expected<void> note_all(const fs::path& copy, const Notes& notes) {
    return guarded(copy, "written", [&] {
        SQLite::Database database(copy.string(), SQLite::OPEN_READWRITE);
        SQLite::Statement insert(database,
                                 "INSERT INTO backups (path, made_unix_s) SELECT ?1, ?2 WHERE NOT EXISTS (SELECT 1 "
                                 "FROM backups WHERE path = ?1 AND made_unix_s = ?2)");
        for (const BackupNote& note : notes.copies) {
            insert.bindNoCopy(1, note.path);
            insert.bind(2, note.made_unix_seconds);
            insert.exec();
            insert.reset();
        }
        SQLite::Statement folders(
            database,
            "INSERT INTO made_in (folder) SELECT ?1 WHERE NOT EXISTS (SELECT 1 FROM made_in WHERE folder = ?1)");
        for (const fs::path& folder : notes.folders) {
            folders.bind(1, folder.string());
            folders.exec();
            folders.reset();
        }
    });
}

Expected<Restored> replace(const fs::path& backup, const fs::path& store, files::NewFile& file,
                           std::int64_t now_unix_seconds, bool even_damaged) {
    const fs::path& copy = file.passing();
    std::error_code problem;
    if (auto copied = copy_whole(backup, copy); !copied) {
        Error error = std::move(copied.error());
        if (error.kind == ErrorKind::no_space)
            return failure(ErrorKind::no_space, store.string() + " can't be written: the disk is full",
                           "make room on that disk; the store was left as it is");
        if (error.kind == ErrorKind::damaged) error.to_do = "name another backup; the store was left as it is";
        return tl::make_unexpected(std::move(error));
    }
    Expected<Restored> restored = examine(copy, backup);
    if (!restored) return restored;
    Notes notes = notes_in(store);
    notes.copies.push_back({fs::absolute(backup, problem).string(), now_unix_seconds});
    if (const auto noted = note_all(copy, notes); !noted) return tl::make_unexpected(noted.error());
    if (const auto whole = no_log_left(copy); !whole) return tl::make_unexpected(whole.error());
    if (files::is_taken(store) && fs::file_size(store, problem) > 0) {
        restored->replaced = name_to_keep(store, now_unix_seconds);
        if (const auto kept = keep_replaced(store, restored->replaced, even_damaged); !kept)
            return tl::make_unexpected(kept.error());
    }
    // A log of the old store must not be taken for one of the new; it is empty, or kept beside with a damaged store.
    for (const char* ending : side_files)
        if (const auto gone = files::remove_file(with_ending(store, ending)); !gone)
            return tl::make_unexpected(gone.error());
    if (const auto placed = file.commit(); !placed) return tl::make_unexpected(placed.error());
    return restored;
}

// Null if the athlete is not in it.
Expected<std::optional<std::int64_t>> sessions_held(const fs::path& path, AthleteId athlete) {
    return guarded(path, "read", [&]() -> std::optional<std::int64_t> {
        // Without a log beside it the file is all there is: read so, nothing is put beside it.
        std::error_code problem;
        const bool has_log = fs::exists(with_ending(path, "-wal"), problem);
        SQLite::Database database(has_log ? path.string() : uri_of(path) + "?immutable=1",
                                  SQLite::OPEN_READONLY | SQLite::OPEN_URI, 2000);
        sqlite3_db_config(database.getHandle(), SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1, nullptr);
        SQLite::Statement query(database,
                                "SELECT (SELECT count(*) FROM sessions WHERE athlete = athletes.id) FROM athletes "
                                "WHERE id = ?");
        columns::Binder(query).put(athlete);
        if (!query.executeStep()) return std::nullopt;
        return query.getColumn(0).getInt64();
    });
}

}  // namespace

Expected<Restored> restore_store(const fs::path& backup, const fs::path& given, std::int64_t now_unix_seconds,
                                 bool even_damaged) {
    std::error_code problem;
    const fs::file_status named = fs::status(backup, problem);
    if (named.type() == fs::file_type::not_found)
        return failure(ErrorKind::not_found, "there is no backup " + backup.string(), "check its name");
    if (named.type() == fs::file_type::none)
        return tl::make_unexpected(files::system_error(backup, "read", problem.value()));
    if (named.type() == fs::file_type::directory)
        return failure(ErrorKind::bad_input, backup.string() + " is a folder, not a backup",
                       "name one of the files in it that `breakstep backup` made");
    if (!looks_like_a_store(backup))
        return failure(ErrorKind::bad_input, backup.string() + " is not a breakstep store, nor a backup of one",
                       "name a file that `breakstep backup` made");
    const fs::path store = fs::weakly_canonical(fs::absolute(given, problem), problem);
    if (fs::equivalent(backup, store, problem))
        return failure(ErrorKind::bad_input, backup.string() + " is the store itself", "name the backup");
    if (!fs::is_directory(store.parent_path(), problem))
        return failure(ErrorKind::not_found, "there is no folder " + store.parent_path().string(),
                       "make the folder first, or choose another place with --store FILE");
    if (const auto may = may_be_replaced(store, even_damaged); !may) return tl::make_unexpected(may.error());
    Expected<StoreLock> lock = StoreLock::take(store);
    if (!lock) return tl::make_unexpected(lock.error());
    Expected<files::NewFile> file = files::NewFile::begin(store, files::Existing::replace);
    if (!file) return tl::make_unexpected(file.error());
    remove_side_files(file->passing());  // of a restore that was cut off: the lock says that nobody is at it
    Expected<Restored> restored = replace(backup, store, *file, now_unix_seconds, even_damaged);
    remove_side_files(file->passing());
    return restored;
}

Expected<OtherCopies> copies_that_hold(const Store& store, AthleteId athlete) {
    const Expected<std::vector<BackupNote>> noted = store.backups();
    if (!noted) return tl::make_unexpected(noted.error());
    OtherCopies copies;
    std::vector<fs::path> candidates;
    std::error_code problem;
    const auto take = [&](const fs::path& path) {
        if (path == store.path() || fs::equivalent(path, store.path(), problem)) return;
        if (std::find(candidates.begin(), candidates.end(), path) == candidates.end()) candidates.push_back(path);
    };
    for (const BackupNote& note : *noted) {
        if (looks_like_a_store(note.path))
            take(fs::path(note.path));
        else
            copies.unseen.emplace_back(note.path);
    }
    for (auto entry = fs::directory_iterator(store.path().parent_path(), problem);
         !problem && entry != fs::directory_iterator(); entry.increment(problem))
        if (entry->is_regular_file(problem) && looks_like_a_store(entry->path())) take(entry->path());
    for (const fs::path& path : daily_backups(store.path())) take(path);
    std::sort(candidates.begin(), candidates.end());
    for (const fs::path& path : candidates) {
        const auto held = sessions_held(path, athlete);
        if (!held)
            copies.unseen.push_back(path);
        else if (*held)
            copies.holding.push_back({path, **held});
        else if (fs::exists(with_ending(path, "-wal"), problem))
            copies.with_log.push_back(path);
    }
    return copies;
}

}  // namespace breakstep
