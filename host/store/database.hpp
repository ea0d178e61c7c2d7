// Opening the store's SQLite file: whose it is, which version, the connection's manners, and what SQLite's errors mean
// to a coach. Internal to host/store. A connection is used by one thread at a time.
#pragma once

#include <cerrno>
#include <exception>
#include <filesystem>
#include <optional>
#include <string_view>

#include <SQLiteCpp/SQLiteCpp.h>

#include "core/error.hpp"
#include "store/store.hpp"

namespace breakstep {

/// What an exception of SQLiteCpp (or UnreadableValue) means. `doing`: "written", "read", "opened". `system_reason`:
/// the errno behind it, 0 for none.
[[nodiscard]] Error store_error(const std::exception& problem, const std::filesystem::path& path,
                                std::string_view doing, int system_reason = 0);

/// `how`: what is wrong with it.
[[nodiscard]] Error damaged_error(const std::filesystem::path& path, std::string_view doing, const std::string& how);

/// The system's own error number of the last failed write to the store's write-ahead log, else of the connection's last
/// error; 0 for none.
[[nodiscard]] int last_system_reason(SQLite::Database& database);

/// The tables of an empty store in an empty file that nobody else knows yet. Not brought to the disk.
[[nodiscard]] Expected<void> lay_out_store(const std::filesystem::path& path);

/// Whether the file is a store or may become one, asked before anything is put beside it. Fails as Store::open.
[[nodiscard]] Expected<void> may_be_store(const std::filesystem::path& path);

/// For writing: makes the file if there is none, and brings an older store up to date. A file of something else or of a
/// newer version is refused before a byte of it changes.
[[nodiscard]] Expected<SQLite::Database> open_for_writing(const std::filesystem::path& path, StoreMode mode);
/// Whether file and folder allow it; a full or failing disk allows it too.
[[nodiscard]] bool may_be_written(const std::filesystem::path& path);
/// For reading: beside the writer of this or another process.
[[nodiscard]] Expected<SQLite::Database> open_for_reading(const std::filesystem::path& path);

/// Runs `work` and turns what it throws into an Error.
template <class Work>
[[nodiscard]] auto guarded(const std::filesystem::path& path, std::string_view doing, Work&& work)
    -> Expected<decltype(work())> {
    errno = 0;
    try {
        if constexpr (std::is_void_v<decltype(work())>) {
            work();
            return {};
        } else {
            return work();
        }
    } catch (const std::exception& problem) {
        return tl::make_unexpected(store_error(problem, path, doing, errno));
    }
}

}  // namespace breakstep
