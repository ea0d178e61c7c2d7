// One writer per store: an advisory lock (flock) on a side file, held from open to destruction. Internal to host/store.
//
// A side file, because closing any descriptor of the database itself would drop SQLite's own locks. It stays behind
// empty: removing it would let two writers lock two different files of one name. The system lets go of the lock when
// the process ends, however it ends.
#pragma once

#include <filesystem>

#include "core/error.hpp"

namespace breakstep {

class StoreLock {
  public:
    StoreLock() = default;
    /// Locks `store_path`.lock. Fails in_use, no_space or system.
    [[nodiscard]] static Expected<StoreLock> take(const std::filesystem::path& store_path);
    /// The same, but makes no side file: where there is none nobody writes.
    [[nodiscard]] static Expected<StoreLock> take_if_any(const std::filesystem::path& store_path);
    ~StoreLock();
    StoreLock(StoreLock&& other) noexcept;
    StoreLock& operator=(StoreLock&& other) noexcept;
    StoreLock(const StoreLock&) = delete;
    StoreLock& operator=(const StoreLock&) = delete;

  private:
    [[nodiscard]] static Expected<StoreLock> take(const std::filesystem::path& store_path, int how);
    int descriptor_ = -1;
};

}  // namespace breakstep
