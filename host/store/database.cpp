#include "store/database.hpp"

#include <sqlite3.h>

#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <new>
#include <string>
#include <system_error>

#include "files/new_file.hpp"
#include "store/damaged/store_pages.hpp"
#include "store/identity.hpp"
#include "store/schema.hpp"
#include "store/text_rules.hpp"
#include "store/values.hpp"

namespace breakstep {
namespace {

constexpr int busy_wait_ms = 2000;

std::string beginning(const std::filesystem::path& path, std::string_view doing) {
    return "the store " + path.string() + " can't be " + std::string(doing);
}

Error full(const std::filesystem::path& path, std::string_view doing) {
    return {ErrorKind::no_space, beginning(path, doing) + ": the disk is full",
            doing == "written" ? "free some space on it; what was recorded meanwhile is held in memory and written then"
                               : "free some space on it, then try again"};
}

}  // namespace

Error damaged_error(const std::filesystem::path& path, std::string_view doing, const std::string& how) {
    return {ErrorKind::damaged, beginning(path, doing) + ": it is damaged (" + how + ")",
            "keep the file; `breakstep rescue NEW-FILE --store " + shell_word(path.string()) +
                "` saves what is whole, `breakstep restore BACKUP --even-damaged` goes back to a backup"};
}

namespace {

Error sqlite_error(const SQLite::Exception& problem, const std::filesystem::path& path, std::string_view doing,
                   int reason) {
    const std::string why = problem.what();
    switch (problem.getErrorCode()) {
        case SQLITE_FULL:
            return full(path, doing);
        case SQLITE_IOERR:
            // The shared memory beside the log can't be made: that happens for want of room alone.
            if (reason == ENOSPC || reason == EDQUOT || reason == EFBIG ||
                problem.getExtendedErrorCode() == SQLITE_IOERR_SHMSIZE)
                return full(path, doing);
            return {ErrorKind::system, beginning(path, doing) + ": the disk reports a fault (" + why + ")",
                    doing == "written"
                        ? "check that the disk or stick is still there; what was recorded is held in memory"
                        : "check that the disk or stick is still there"};
        case SQLITE_NOTADB:
            return no_database_error(path);
        case SQLITE_CORRUPT:
            return damaged_error(path, doing, why);
        case SQLITE_BUSY:
        case SQLITE_LOCKED:
            return {ErrorKind::in_use, beginning(path, doing) + ": another program holds it locked",
                    "close the program that has it open"};
        case SQLITE_READONLY:
        case SQLITE_PERM:
        case SQLITE_AUTH:
            return {ErrorKind::system, beginning(path, doing) + ": writing there is not allowed",
                    "give yourself write permission for the file and its folder, or choose another with --store FILE"};
        case SQLITE_CANTOPEN:
            return {ErrorKind::system,
                    beginning(path, doing) + ": " +
                        (reason != 0 ? std::generic_category().message(reason) : "the file can't be opened"),
                    "check the permissions of the file and its folder, or choose another with --store FILE"};
        default:
            return {ErrorKind::system, beginning(path, doing) + ": " + why, "report this together with the store"};
    }
}

std::int32_t pragma(SQLite::Database& database, const char* name) {
    return database.execAndGet(std::string("PRAGMA ") + name).getInt();
}

void set_manners(SQLite::Database& database) {
    sqlite3* handle = database.getHandle();
    sqlite3_db_config(handle, SQLITE_DBCONFIG_DQS_DML, 0, nullptr);
    sqlite3_db_config(handle, SQLITE_DBCONFIG_DQS_DDL, 0, nullptr);
    sqlite3_db_config(handle, SQLITE_DBCONFIG_DEFENSIVE, 1, nullptr);
    sqlite3_db_config(handle, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, nullptr);
    database.exec("PRAGMA foreign_keys = ON; PRAGMA secure_delete = ON; PRAGMA cell_size_check = ON;");
}

// Whether the store is ours and of which version. `empty`: a file without any table yet.
struct Identity {
    std::int32_t application = 0, version = 0;
    bool empty = false;
};
Identity identity_of(SQLite::Database& database) {
    Identity identity;
    identity.application = pragma(database, "application_id");
    identity.version = pragma(database, "user_version");
    identity.empty = database.execAndGet("SELECT count(*) FROM sqlite_schema").getInt() == 0;
    return identity;
}

std::optional<Error> refusal(const Identity& identity, const std::filesystem::path& path) {
    if (identity.empty && identity.application == 0 && identity.version == 0) return std::nullopt;
    if (identity.application != schema::application_id) return other_database_error(path);
    if (identity.version > schema::newest_version()) {
        return Error{ErrorKind::incompatible,
                     "the store " + path.string() + " was made by a newer breakstep (its version is " +
                         std::to_string(identity.version) + ", this program knows up to " +
                         std::to_string(schema::newest_version()) + ")",
                     "use the newer breakstep, or another store with --store FILE; this one was left as it is"};
    }
    return std::nullopt;
}

// A failure of making the file, told of the store by its own name.
Error about_store(const std::filesystem::path& path, Error error) {
    const std::string passing = files::passing_name(path).string();
    for (auto at = error.what.find(passing); at != std::string::npos; at = error.what.find(passing, at))
        error.what.replace(at, passing.size(), path.string());
    if (error.kind == ErrorKind::no_space) return full(path, "made");
    if (error.what.find("the store") == std::string::npos) error.what = "the store " + error.what;
    if (error.kind == ErrorKind::system) error.to_do = "choose a folder you may write to with --store FILE";
    return error;
}

// Looks at an existing file without changing it: not even the checkpoint that closing would make.
Expected<Identity> peek(const std::filesystem::path& path) {
    return guarded(path, "opened", [&] {
        SQLite::Database database(path.string(), SQLite::OPEN_READONLY, busy_wait_ms);
        sqlite3_db_config(database.getHandle(), SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1, nullptr);
        return identity_of(database);
    });
}

void migrate(SQLite::Database& database) {
    for (std::int32_t version = pragma(database, "user_version"); version < schema::newest_version(); ++version) {
        SQLite::Transaction transaction(database, SQLite::TransactionBehavior::IMMEDIATE);
        database.exec(std::string(schema::steps()[static_cast<std::size_t>(version)]));
        database.exec("PRAGMA application_id = " + std::to_string(schema::application_id) +
                      "; PRAGMA user_version = " + std::to_string(version + 1) + ";");
        transaction.commit();
    }
}

void lay_out(const std::filesystem::path& path) {
    SQLite::Database database(path.string(), SQLite::OPEN_READWRITE, busy_wait_ms);
    set_manners(database);
    // Nobody knows the file yet: it is brought to the disk as a whole afterwards, so nothing need be undone or synced.
    database.exec("PRAGMA journal_mode = OFF; PRAGMA synchronous = OFF;");
    migrate(database);
    if (database.execAndGet("PRAGMA journal_mode = WAL").getString() != "wal")
        throw SQLite::Exception("this disk can't keep a write-ahead log", SQLITE_ERROR);
}

// A store appears whole, its owner's alone: it holds children's data. SQLite gives its side files the same permissions.
Expected<void> make_store(const std::filesystem::path& path, bool replaces_empty_file) {
    Expected<files::NewFile> file =
        files::NewFile::begin(path, replaces_empty_file ? files::Existing::replace : files::Existing::refuse);
    if (!file) return tl::make_unexpected(about_store(path, file.error()));
    remove_side_files(file->passing());
    Expected<void> made =
        lay_out_store(file->passing()).and_then([&] { return no_log_left(file->passing()); }).and_then([&] {
            return file->commit();
        });
    remove_side_files(file->passing());
    if (made) return made;
    return tl::make_unexpected(about_store(path, made.error()));
}

// Undoes a change that was cut off: SQLite does it at the first look through a connection that may write.
Expected<void> undo(const std::filesystem::path& path) {
    return guarded(path, "opened", [&] {
        SQLite::Database database(path.string(), SQLite::OPEN_READWRITE, busy_wait_ms);
        (void)database.execAndGet("SELECT count(*) FROM sqlite_schema");
    });
}

bool may_write_beside(const std::filesystem::path& path) {
    const std::filesystem::path folder = path.has_parent_path() ? path.parent_path() : std::filesystem::path(".");
    return ::access(folder.c_str(), W_OK) == 0;
}

}  // namespace

bool may_be_written(const std::filesystem::path& path) {
    return ::access(path.c_str(), W_OK) == 0 && may_write_beside(path);
}

namespace {

Expected<void> undo_what_was_cut(const std::filesystem::path& path, Looks looks) {
    if (looks != Looks::store && looks != Looks::unmarked) return {};
    const Expected<bool> was_cut = change_was_cut(path);
    if (!was_cut) return tl::make_unexpected(was_cut.error());
    if (!*was_cut) return {};
    // Of a file that is not ours nothing is undone.
    if (looks == Looks::unmarked) return tl::make_unexpected(other_database_error(path));
    if (may_be_written(path)) return undo(path);
    return failure(
        ErrorKind::system,
        "a change of the store " + path.string() + " was cut off, and can't be undone: writing there is not allowed",
        "give yourself write permission for the file and its folder, or copy both files to where you may");
}

}  // namespace

Error store_error(const std::exception& problem, const std::filesystem::path& path, std::string_view doing,
                  int system_reason) {
    if (const auto* from_sqlite = dynamic_cast<const SQLite::Exception*>(&problem))
        return sqlite_error(*from_sqlite, path, doing, system_reason);
    if (dynamic_cast<const columns::UnreadableValue*>(&problem) != nullptr)
        return damaged_error(path, doing, problem.what());
    return {ErrorKind::system, beginning(path, doing) + ": " + problem.what(), "report this together with the store"};
}

int last_system_reason(SQLite::Database& database) {
    // By the time an error is told, rolling back may have made other calls to the system: the file remembers its own.
    int reason = 0;
    sqlite3_file* log = nullptr;
    if (sqlite3_file_control(database.getHandle(), "main", SQLITE_FCNTL_JOURNAL_POINTER, &log) == SQLITE_OK &&
        log != nullptr && log->pMethods != nullptr)
        log->pMethods->xFileControl(log, SQLITE_FCNTL_LAST_ERRNO, &reason);
    return reason != 0 ? reason : sqlite3_system_errno(database.getHandle());
}

Expected<void> lay_out_store(const std::filesystem::path& path) {
    return guarded(path, "made", [&] { lay_out(path); });
}

Expected<void> may_be_store(const std::filesystem::path& path) {
    const Expected<Looks> looks = looks_of(path);
    if (!looks) return tl::make_unexpected(looks.error());
    if (*looks == Looks::no_database) return tl::make_unexpected(no_database_error(path));
    if (*looks == Looks::other_database) return tl::make_unexpected(other_database_error(path));
    if (*looks != Looks::unmarked) return {};
    const Expected<Identity> identity = peek(path);
    if (!identity) return tl::make_unexpected(identity.error());
    if (const auto refused = refusal(*identity, path)) return tl::make_unexpected(*refused);
    return {};
}

Expected<SQLite::Database> open_for_writing(const std::filesystem::path& path, StoreMode mode) {
    Expected<Looks> looks = looks_of(path);
    if (looks && *looks == Looks::first_start_cut) {
        if (const Expected<void> undone = undo(path); !undone) return tl::make_unexpected(undone.error());
        looks = looks_of(path);
    }
    if (!looks) return tl::make_unexpected(looks.error());
    if (*looks == Looks::absent || *looks == Looks::empty) {
        if (const Expected<void> made = make_store(path, *looks == Looks::empty); !made)
            return tl::make_unexpected(made.error());
    } else {
        if (const auto undone = undo_what_was_cut(path, *looks); !undone) return tl::make_unexpected(undone.error());
        const Expected<Identity> identity = peek(path);
        if (!identity) return tl::make_unexpected(identity.error());
        if (const auto refused = refusal(*identity, path)) return tl::make_unexpected(*refused);
    }
    return guarded(path, "opened", [&] {
        SQLite::Database database(path.string(), SQLite::OPEN_READWRITE, busy_wait_ms);
        if (sqlite3_db_readonly(database.getHandle(), "main") != 0)
            throw SQLite::Exception("writing is not allowed", SQLITE_READONLY);
        set_manners(database);
        if (database.execAndGet("PRAGMA journal_mode = WAL").getString() != "wal")
            throw SQLite::Exception("this disk can't keep a write-ahead log", SQLITE_ERROR);
        database.exec(mode == StoreMode::inline_writes ? "PRAGMA synchronous = NORMAL" : "PRAGMA synchronous = FULL");
        migrate(database);
        return database;
    });
}

namespace {

using Opened = std::pair<SQLite::Database, Identity>;

Expected<SQLite::Database> looked_at(Opened&& opened, const std::filesystem::path& path) {
    if (const auto refused = refusal(opened.second, path)) return tl::make_unexpected(*refused);
    if (opened.second.version < schema::newest_version()) {
        return failure(ErrorKind::incompatible,
                       "the store " + path.string() + " is of an older breakstep (version " +
                           std::to_string(opened.second.version) + ")",
                       "open it once for writing, which brings it up to date");
    }
    return std::move(opened.first);
}

Expected<Opened> open_in_place(const std::string& name, int how, const std::filesystem::path& path) {
    return guarded(path, "opened", [&] {
        SQLite::Database database(name, SQLite::OPEN_READONLY | how, busy_wait_ms);
        set_manners(database);
        const Identity identity = identity_of(database);
        return std::make_pair(std::move(database), identity);
    });
}

// The pages as they stand, the write-ahead log's in their places, in memory: where nothing can be put beside the file.
Expected<SQLite::Database> open_in_memory(const std::filesystem::path& path) {
    Expected<StorePages> file = StorePages::open(path);
    if (!file) return tl::make_unexpected(file.error());
    return guarded(path, "opened",
                   [&] {
                       const std::uint64_t bytes = std::uint64_t{file->pages()} * file->page_bytes();
                       SQLite::Database database(":memory:", SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE);
                       auto* image = static_cast<unsigned char*>(sqlite3_malloc64(bytes + 1));
                       if (image == nullptr) throw std::bad_alloc();
                       for (std::uint32_t number = 1; number <= file->pages(); ++number) {
                           const std::string& page = file->page(number);
                           std::memset(image + std::uint64_t{number - 1} * file->page_bytes(), 0, file->page_bytes());
                           std::memcpy(image + std::uint64_t{number - 1} * file->page_bytes(), page.data(),
                                       page.size());
                       }
                       // SQLite's file format, section 1.3: bytes 18 and 19 ask for a write-ahead log, which memory has
                       // none of.
                       if (bytes >= 100) image[18] = image[19] = 1;
                       const int result =
                           sqlite3_deserialize(database.getHandle(), "main", image, static_cast<sqlite3_int64>(bytes),
                                               static_cast<sqlite3_int64>(bytes),
                                               SQLITE_DESERIALIZE_FREEONCLOSE | SQLITE_DESERIALIZE_RESIZEABLE);
                       if (result != SQLITE_OK) throw SQLite::Exception(database.getHandle(), result);
                       set_manners(database);
                       const Identity identity = identity_of(database);
                       const bool ours = !identity.empty && !refusal(identity, path);
                       if (ours) migrate(database);
                       return std::make_pair(std::move(database), ours ? identity_of(database) : identity);
                   })
        .and_then([&](Opened&& opened) { return looked_at(std::move(opened), path); });
}

}  // namespace

Expected<SQLite::Database> open_for_reading(const std::filesystem::path& path) {
    const Expected<Looks> looks = looks_of(path);
    if (!looks) return tl::make_unexpected(looks.error());
    if (*looks == Looks::absent)
        return failure(ErrorKind::not_found, "there is no store " + path.string(), "check the name after --store");
    if (*looks == Looks::no_database) return tl::make_unexpected(no_database_error(path));
    if (const auto undone = undo_what_was_cut(path, *looks); !undone) return tl::make_unexpected(undone.error());
    if (may_write_beside(path))
        return open_in_place(path.string(), 0, path).and_then([&](Opened&& opened) {
            return looked_at(std::move(opened), path);
        });
    // A read-only folder or disk: SQLite can't make the memory that readers of a log share. Without a log that holds
    // something the file is all there is.
    std::error_code problem;
    const std::filesystem::path log = with_ending(path, "-wal");
    if (std::filesystem::exists(log, problem) && std::filesystem::file_size(log, problem) > 0)
        return open_in_memory(path);
    Expected<Opened> opened = open_in_place(uri_of(path) + "?immutable=1", SQLite::OPEN_URI, path);
    if (!opened) return tl::make_unexpected(opened.error());
    if (opened->second.application == schema::application_id && opened->second.version < schema::newest_version())
        return open_in_memory(path);
    return looked_at(std::move(*opened), path);
}

}  // namespace breakstep
