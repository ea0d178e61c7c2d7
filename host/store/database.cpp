#include "store/database.hpp"

#include <fcntl.h>
#include <sqlite3.h>
#include <unistd.h>

#include <cerrno>
#include <string>
#include <system_error>

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

Error damaged(const std::filesystem::path& path, std::string_view doing, const std::string& how) {
    return {ErrorKind::damaged, beginning(path, doing) + ": it is damaged (" + how + ")",
            "keep the file; `breakstep rescue NEW-FILE --store " + shell_word(path.string()) +
                "` saves what is whole, `breakstep restore BACKUP` goes back to a backup"};
}

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
            return {ErrorKind::bad_input, path.string() + " is not a breakstep store, nor any database",
                    "name another file with --store FILE; if it was a store once, `breakstep rescue NEW-FILE --store " +
                        shell_word(path.string()) + "` saves what is whole"};
        case SQLITE_CORRUPT:
            return damaged(path, doing, why);
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
    if (identity.application != schema::application_id) {
        return Error{ErrorKind::bad_input, path.string() + " is a database of another program, not a breakstep store",
                     "name another file with --store FILE; this one was left as it is"};
    }
    if (identity.version > schema::newest_version()) {
        return Error{ErrorKind::incompatible,
                     "the store " + path.string() + " was made by a newer breakstep (its version is " +
                         std::to_string(identity.version) + ", this program knows up to " +
                         std::to_string(schema::newest_version()) + ")",
                     "use the newer breakstep, or another store with --store FILE; this one was left as it is"};
    }
    return std::nullopt;
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

// Readable by its owner alone: it holds children's data. SQLite gives its side files the same permissions.
Expected<void> make_file(const std::filesystem::path& path) {
    const int descriptor = ::open(path.c_str(), O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    if (descriptor < 0) {
        const int reason = errno;
        if (reason == ENOSPC || reason == EDQUOT) return tl::make_unexpected(full(path, "made"));
        return failure(ErrorKind::system, beginning(path, "made") + ": " + std::generic_category().message(reason),
                       "choose a folder you may write to with --store FILE");
    }
    ::close(descriptor);
    return {};
}

Expected<bool> is_there(const std::filesystem::path& path) {
    std::error_code problem;
    const auto status = std::filesystem::status(path, problem);
    if (status.type() == std::filesystem::file_type::not_found) return false;
    if (status.type() == std::filesystem::file_type::regular) return true;
    return failure(ErrorKind::bad_input,
                   path.string() + (status.type() == std::filesystem::file_type::directory
                                        ? " is a folder, not a store"
                                        : " is not a file that can hold a store"),
                   "name a file with --store FILE");
}

}  // namespace

Error store_error(const std::exception& problem, const std::filesystem::path& path, std::string_view doing,
                  int system_reason) {
    if (const auto* from_sqlite = dynamic_cast<const SQLite::Exception*>(&problem))
        return sqlite_error(*from_sqlite, path, doing, system_reason);
    if (dynamic_cast<const columns::UnreadableValue*>(&problem) != nullptr) return damaged(path, doing, problem.what());
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

Expected<SQLite::Database> open_for_writing(const std::filesystem::path& path, StoreMode mode) {
    const Expected<bool> there = is_there(path);
    if (!there) return tl::make_unexpected(there.error());
    if (*there) {
        const Expected<Identity> identity = peek(path);
        if (!identity) return tl::make_unexpected(identity.error());
        if (const auto refused = refusal(*identity, path)) return tl::make_unexpected(*refused);
    } else if (const Expected<void> made = make_file(path); !made) {
        return tl::make_unexpected(made.error());
    }
    Expected<SQLite::Database> opened = guarded(path, "opened", [&] {
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
    // A file that was made for nothing goes again.
    std::error_code ignored;
    if (!opened && !*there && std::filesystem::file_size(path, ignored) == 0) std::filesystem::remove(path, ignored);
    return opened;
}

Expected<SQLite::Database> open_for_reading(const std::filesystem::path& path) {
    const Expected<bool> there = is_there(path);
    if (!there) return tl::make_unexpected(there.error());
    if (!*there)
        return failure(ErrorKind::not_found, "there is no store " + path.string(), "check the name after --store");
    return guarded(path, "opened",
                   [&] {
                       SQLite::Database database(path.string(), SQLite::OPEN_READONLY, busy_wait_ms);
                       set_manners(database);
                       const Identity identity = identity_of(database);
                       return std::make_pair(std::move(database), identity);
                   })
        .and_then([&](std::pair<SQLite::Database, Identity>&& opened) -> Expected<SQLite::Database> {
            if (const auto refused = refusal(opened.second, path)) return tl::make_unexpected(*refused);
            if (opened.second.version < schema::newest_version()) {
                return failure(ErrorKind::incompatible,
                               "the store " + path.string() + " is of an older breakstep (version " +
                                   std::to_string(opened.second.version) + ")",
                               "open it once for writing, which brings it up to date");
            }
            return std::move(opened.first);
        });
}

}  // namespace breakstep
