// Copies of the store.
#include <chrono>
#include <string>
#include <system_error>

#include "files/new_file.hpp"
#include "store/database.hpp"
#include "store/identity.hpp"
#include "store/store_state.hpp"
#include "store/tonight.hpp"
#include "store/values.hpp"

namespace breakstep {

namespace {

std::int64_t unix_now() {
    return std::chrono::duration_cast<std::chrono::seconds>(std::chrono::system_clock::now().time_since_epoch())
        .count();
}

// Through a connection of its own: SQLite lets one more row in beside whoever writes the store, and numbers nothing
// that the writer remembers.
Expected<void> note_copy(const std::filesystem::path& store, const std::filesystem::path& copy) {
    return guarded(store, "written", [&] {
        SQLite::Database database(store.string(), SQLite::OPEN_READWRITE, 10'000);
        database.exec("PRAGMA secure_delete = ON; PRAGMA synchronous = FULL;");
        columns::ColumnNames names;
        const BackupNote note{copy.string(), unix_now()};
        columns::visit_backup(note, names);
        SQLite::Statement insert(database,
                                 "INSERT INTO backups (" + names.list() + ") VALUES (" + names.placeholders() + ")");
        columns::Binder binder(insert);
        columns::visit_backup(note, binder);
        insert.exec();
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

// What the copy can't be: of the store's errors those that speak of the file that was being written.
Error about_copy(Error error, const std::filesystem::path& store, const std::filesystem::path& passing,
                 const std::filesystem::path& copy) {
    const auto rename = [&error](const std::string& from, const std::string& to) {
        for (auto at = error.what.find(from); at != std::string::npos; at = error.what.find(from, at + to.size()))
            error.what.replace(at, from.size(), to);
    };
    rename(passing.string(), copy.string());
    if (error.kind == ErrorKind::no_space) {
        rename("the store " + store.string() + " can't be read", copy.string() + " can't be written");
        error.to_do = "make room on that disk, or choose another";
    }
    return error;
}

}  // namespace

namespace {

// A copy, whole and checked, under the passing name of `file`.
Expected<void> copy_passing(Reader& reader, const std::filesystem::path& store, const files::NewFile& file,
                            const std::filesystem::path& copy) {
    remove_side_files(file.passing());
    const Expected<void> copied = reader.copy_to(file.passing()).and_then([&] { return check_copy(file.passing()); });
    remove_side_files(file.passing());
    if (copied) return {};
    return tl::make_unexpected(about_copy(copied.error(), store, file.passing(), copy));
}

}  // namespace

Expected<BackupMade> Store::backup(const std::filesystem::path& given) const {
    std::error_code problem;
    const std::filesystem::path copy = std::filesystem::absolute(given, problem);
    if (const auto may = may_hold_a_copy(copy); !may) return tl::make_unexpected(may.error());
    Expected<files::NewFile> file = files::NewFile::begin(copy, files::Existing::refuse);
    if (!file) return tl::make_unexpected(file.error());
    if (const auto copied = copy_passing(state_->reader, state_->path, *file, copy); !copied)
        return tl::make_unexpected(copied.error());
    // Before the copy appears: a note of a copy that is none does no harm, a copy that nobody knows of does.
    const Expected<void> noted = note_copy(state_->path, copy);
    // A disk that fails is no reason to leave it un-noted; a store that nobody may write is.
    if (!noted && may_be_written(state_->path)) return tl::make_unexpected(noted.error());
    if (const Expected<void> placed = file->commit(); !placed) return tl::make_unexpected(placed.error());
    return BackupMade{copy, noted.has_value()};
}

Expected<void> Store::copy_to(const std::filesystem::path& copy) const {
    Expected<files::NewFile> file = files::NewFile::begin(copy, files::Existing::refuse);
    if (!file) return tl::make_unexpected(file.error());
    return copy_passing(state_->reader, state_->path, *file, copy).and_then([&] { return file->commit(); });
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
