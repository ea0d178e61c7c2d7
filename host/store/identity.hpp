// Whose a file is, seen from its first bytes, before anything is opened, locked or changed. Internal to host/store.
//
// Any thread. Nothing is put beside the file.
#pragma once

#include <filesystem>
#include <string>

#include "core/error.hpp"

namespace breakstep {

enum class Looks {
    absent,
    empty,            ///< a file of no bytes
    first_start_cut,  ///< a store whose very first transaction was cut off: undoing it leaves an empty file
    store,            ///< bears our mark
    unmarked,         ///< a database that bears no program's mark, as a store does at its very beginning
    other_database,   ///< bears another program's mark
    no_database
};

/// Fails (bad_input) for a folder or a device, else as reading does.
[[nodiscard]] Expected<Looks> looks_of(const std::filesystem::path& path);

/// Bears the mark of a store, whether or not the rest of it is whole.
[[nodiscard]] bool looks_like_a_store(const std::filesystem::path& path);

/// A journal beside it says that a change was cut off in the middle: the file is neither old nor new until SQLite,
/// opening it for writing, has undone that. Fails (bad_input) if what bears the journal's name is no journal: SQLite
/// would remove it.
[[nodiscard]] Expected<bool> change_was_cut(const std::filesystem::path& path);

/// As SQLite takes it: bytes that mean something in a URI are escaped.
[[nodiscard]] std::string uri_of(const std::filesystem::path& path);

[[nodiscard]] Error no_database_error(const std::filesystem::path& path);
[[nodiscard]] Error other_database_error(const std::filesystem::path& path);

/// What SQLite may put beside a file, the write-ahead log first.
inline constexpr const char* side_files[] = {"-wal", "-shm", "-journal"};
[[nodiscard]] inline std::filesystem::path with_ending(const std::filesystem::path& path, const std::string& ending) {
    return path.string() + ending;
}
/// Of a copy that is being made or is not to stay: what SQLite and the lock left beside it.
void remove_side_files(const std::filesystem::path& path);
/// Fails (no_space) if a write-ahead log with content stands beside a store that was closed: not all of it is in the
/// file itself.
[[nodiscard]] Expected<void> no_log_left(const std::filesystem::path& path);

}  // namespace breakstep
