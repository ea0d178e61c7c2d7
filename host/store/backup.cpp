// Copies of the store.
#include <fcntl.h>
#include <unistd.h>

#include <cerrno>
#include <chrono>
#include <string>
#include <system_error>

#include "store/copying.hpp"
#include "store/database.hpp"
#include "store/store_state.hpp"
#include "store/values.hpp"

namespace breakstep {

Expected<void> sync_to_disk(const std::filesystem::path& path) {
    const int descriptor = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
    const bool good = descriptor >= 0 && ::fsync(descriptor) == 0;
    const int reason = errno;
    if (descriptor >= 0) ::close(descriptor);
    if (good) return {};
    return failure(ErrorKind::system,
                   path.string() + " may not be on the disk yet: " + std::generic_category().message(reason),
                   "check that the disk or stick is still there, then try again");
}

Expected<void> make_empty_file(const std::filesystem::path& path) {
    const int descriptor = ::open(path.c_str(), O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    if (descriptor >= 0) {
        ::close(descriptor);
        return {};
    }
    const int reason = errno;
    if (reason == EEXIST)
        return failure(ErrorKind::bad_input, path.string() + " is there already",
                       "name a new file: nothing is overwritten");
    return failure(reason == ENOSPC || reason == EDQUOT ? ErrorKind::no_space
                   : reason == ENOENT                   ? ErrorKind::not_found
                                                        : ErrorKind::system,
                   path.string() + " can't be made: " + std::generic_category().message(reason),
                   "name a file in a folder that is there and that you may write to");
}

namespace {

std::int64_t unix_now() {
    return std::chrono::duration_cast<std::chrono::seconds>(std::chrono::system_clock::now().time_since_epoch())
        .count();
}

Expected<void> note_copy(Store::State& state, const std::filesystem::path& copy) {
    return in_transaction(state, [&](SQLite::Database& database) -> Expected<void> {
        columns::ColumnNames names;
        const BackupNote note{copy.string(), unix_now()};
        columns::visit_backup(note, names);
        SQLite::Statement insert(database,
                                 "INSERT INTO backups (" + names.list() + ") VALUES (" + names.placeholders() + ")");
        columns::Binder binder(insert);
        columns::visit_backup(note, binder);
        insert.exec();
        return {};
    });
}

Expected<void> check_copy(const std::filesystem::path& copy) {
    return guarded(copy, "read", [&] {
        SQLite::Database database(copy.string(), SQLite::OPEN_READONLY);
        SQLite::Statement check(database, "PRAGMA integrity_check(1)");
        if (!check.executeStep() || check.getColumn(0).getString() != "ok")
            throw columns::UnreadableValue("the copy is not whole");
    });
}

}  // namespace

Expected<void> Store::backup(const std::filesystem::path& given) const {
    std::error_code problem;
    const std::filesystem::path copy = std::filesystem::absolute(given, problem);
    if (Expected<void> made = make_empty_file(copy); !made) return made;
    Expected<void> done = state_->reader.copy_to(copy)
                              .and_then([&] { return check_copy(copy); })
                              .and_then([&] { return sync_to_disk(copy); })
                              .and_then([&] { return sync_to_disk(copy.parent_path()); });
    if (!done) {
        std::filesystem::remove(copy, problem);
        return done;
    }
    return state_->writer ? note_copy(*state_, copy) : done;
}

Expected<void> in_transaction(Store::State& state, const std::function<Expected<void>(SQLite::Database&)>& work) {
    if (!state.writer)
        return failure(ErrorKind::system, "the store " + state.path.string() + " was opened for reading only",
                       "open it for writing");
    Expected<void> answer;
    Expected<void> ran = state.writer->run([&](SQLite::Database& database) {
        SQLite::Transaction transaction(database, SQLite::TransactionBehavior::IMMEDIATE);
        answer = work(database);
        if (answer) transaction.commit();
    });
    return ran ? answer : ran;
}

}  // namespace breakstep
