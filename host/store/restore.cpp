#include "store/restore.hpp"

#include <sqlite3.h>

#include <algorithm>
#include <ctime>
#include <fstream>
#include <string>
#include <system_error>

#include "store/copying.hpp"
#include "store/database.hpp"
#include "store/store_lock.hpp"
#include "store/values.hpp"

namespace breakstep {
namespace {

namespace fs = std::filesystem;

constexpr const char* side_files[] = {"-wal", "-shm"};

fs::path with_ending(const fs::path& path, const std::string& ending) { return path.string() + ending; }

// Removes a copy that is not to stay, with what SQLite and the lock left beside it.
void remove_copy(const fs::path& copy) {
    std::error_code ignored;
    for (const char* ending : {"", "-wal", "-shm", "-journal", ".lock"}) fs::remove(with_ending(copy, ending), ignored);
}

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
Expected<RestoreReport> examine(const fs::path& copy, const fs::path& backup) {
    StoreOptions options;
    options.mode = StoreMode::inline_writes;
    const auto named = [&](Error error) {
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
    RestoreReport report;
    report.athletes = static_cast<std::int64_t>(athletes->size());
    report.sessions = static_cast<std::int64_t>(sessions->size());
    report.measures = static_cast<std::int64_t>(measures->size());
    if (const auto closed = (*store)->close(); !closed) return named(closed.error());
    return report;
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

Expected<void> move_file(const fs::path& from, const fs::path& to) {
    std::error_code problem;
    fs::rename(from, to, problem);
    if (!problem) return {};
    return failure(ErrorKind::system, from.string() + " can't be renamed to " + to.string() + ": " + problem.message(),
                   "see to the permissions of the folder; nothing was deleted");
}

// The write-ahead log goes with its store, under the name that belongs to it.
Expected<void> put_aside(const fs::path& store, const fs::path& kept) {
    std::error_code ignored;
    if (Expected<void> moved = move_file(store, kept); !moved) return moved;
    for (const char* ending : side_files)
        if (fs::exists(with_ending(store, ending), ignored))
            if (Expected<void> moved = move_file(with_ending(store, ending), with_ending(kept, ending)); !moved)
                return moved;
    return {};
}

// Where copies of the store in place were put; none if it can't be read: it is kept, and named, all the same.
std::vector<BackupNote> notes_in(const fs::path& store) {
    StoreOptions options;
    options.mode = StoreMode::read_only;
    return Store::open(store, options)
        .and_then([](auto&& opened) { return opened->backups(); })
        .value_or(std::vector<BackupNote>());
}

// The backup does not know of itself, nor of copies that were made after it: erasing must name them all the same.
Expected<void> note_copies(const fs::path& copy, const std::vector<BackupNote>& notes) {
    return guarded(copy, "written", [&] {
        SQLite::Database database(copy.string(), SQLite::OPEN_READWRITE);
        SQLite::Statement insert(database,
                                 "INSERT INTO backups (path, made_unix_s) SELECT ?1, ?2 WHERE NOT EXISTS (SELECT 1 "
                                 "FROM backups WHERE path = ?1 AND made_unix_s = ?2)");
        for (const BackupNote& note : notes) {
            insert.bindNoCopy(1, note.path);
            insert.bind(2, note.made_unix_seconds);
            insert.exec();
            insert.reset();
        }
    });
}

Expected<RestoreReport> replace(const fs::path& backup, const fs::path& store, const fs::path& copy,
                                std::int64_t now_unix_seconds) {
    std::error_code problem;
    if (auto copied = copy_whole(backup, copy); !copied) {
        Error error = std::move(copied.error());
        if (error.kind == ErrorKind::damaged) error.to_do = "name another backup; the store was left as it is";
        return tl::make_unexpected(std::move(error));
    }
    Expected<RestoreReport> report = examine(copy, backup);
    if (!report) return report;
    std::vector<BackupNote> notes = notes_in(store);
    notes.push_back({fs::absolute(backup, problem).string(), now_unix_seconds});
    if (const auto noted = note_copies(copy, notes); !noted) return tl::make_unexpected(noted.error());
    if (const auto synced = sync_to_disk(copy); !synced) return tl::make_unexpected(synced.error());
    if (fs::exists(store, problem)) {
        report->replaced = name_to_keep(store, now_unix_seconds);
        if (const auto kept = put_aside(store, report->replaced); !kept) return tl::make_unexpected(kept.error());
    }
    if (const auto moved = move_file(copy, store); !moved) {
        if (!report->replaced.empty())
            if (const auto back = put_aside(report->replaced, store); !back) return tl::make_unexpected(back.error());
        return tl::make_unexpected(moved.error());
    }
    if (const auto synced = sync_to_disk(store.parent_path()); !synced) return tl::make_unexpected(synced.error());
    return report;
}

bool looks_like_a_store(const fs::path& path) {
    std::ifstream file(path, std::ios::binary);
    char header[100] = {};
    // application_id stands at offset 68 of SQLite's header (its file format, section 1.3).
    return file.read(header, sizeof header) && std::string_view(header, 15) == "SQLite format 3" &&
           std::string_view(header + 68, 4) == "brks";
}

// As SQLite takes it: bytes that mean something in a URI are escaped.
std::string uri_of(const fs::path& path) {
    constexpr std::string_view plain = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-.~/";
    constexpr std::string_view digits = "0123456789ABCDEF";
    std::string uri = "file:";
    for (const char character : path.string()) {
        const auto byte = static_cast<unsigned char>(character);
        if (plain.find(character) != std::string_view::npos)
            uri += character;
        else
            uri += {'%', digits[byte >> 4U], digits[byte & 15U]};
    }
    return uri;
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

Expected<RestoreReport> restore_store(const fs::path& backup, const fs::path& given, std::int64_t now_unix_seconds) {
    std::error_code problem;
    if (!fs::is_regular_file(backup, problem))
        return failure(ErrorKind::not_found, "there is no backup " + backup.string(), "check its name");
    if (!looks_like_a_store(backup))
        return failure(ErrorKind::bad_input, backup.string() + " is not a breakstep store, nor a backup of one",
                       "name a file that `breakstep backup` made");
    const fs::path store = fs::weakly_canonical(fs::absolute(given, problem), problem);
    if (fs::equivalent(backup, store, problem))
        return failure(ErrorKind::bad_input, backup.string() + " is the store itself", "name the backup");
    if (!fs::is_directory(store.parent_path(), problem))
        return failure(ErrorKind::not_found, "there is no folder " + store.parent_path().string(),
                       "make the folder first, or choose another place with --store FILE");
    Expected<StoreLock> lock = StoreLock::take(store);
    if (!lock) return tl::make_unexpected(lock.error());
    const fs::path copy = with_ending(store, ".restoring");
    remove_copy(copy);  // of a restore that was cut off: the lock says that nobody is at it
    if (const auto made = make_empty_file(copy); !made) return tl::make_unexpected(made.error());
    Expected<RestoreReport> report = replace(backup, store, copy, now_unix_seconds);
    remove_copy(copy);
    return report;
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
    std::sort(candidates.begin(), candidates.end());
    for (const fs::path& path : candidates) {
        const auto held = sessions_held(path, athlete);
        if (!held)
            copies.unseen.push_back(path);
        else if (*held)
            copies.holding.push_back({path, **held});
    }
    return copies;
}

}  // namespace breakstep
