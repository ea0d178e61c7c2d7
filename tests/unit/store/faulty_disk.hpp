// A disk that fails on purpose: an SQLite VFS over the system's own that can be full, refuse to sync, hand back damaged
// bytes, or lose at a power cut what was not synced. While it lives it is SQLite's default, so that the store under
// test uses it unknowingly. One at a time; its switches may be turned from any thread.
#pragma once

#include <atomic>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <map>
#include <memory>
#include <mutex>
#include <string>
#include <vector>

#include "core/random.hpp"

namespace breakstep::testing {

class FaultyDisk {
  public:
    FaultyDisk();
    ~FaultyDisk();
    FaultyDisk(const FaultyDisk&) = delete;
    FaultyDisk& operator=(const FaultyDisk&) = delete;

    /// How many bytes files may still grow by; negative: without limit.
    std::atomic<std::int64_t> bytes_left{-1};
    std::atomic<bool> sync_fails{false};
    std::atomic<bool> writes_fail{false};

    /// Called before each write and sync, in the thread that makes it, with the count of those so far.
    std::function<void(std::int64_t)> before_operation;

    /// What a disk without power would hold now: all that was synced, and of the rest each write or not, as `random`
    /// has it. Written as plain files into `folder`.
    void write_what_survives(Random& random, const std::filesystem::path& folder);

    // ---- for the VFS itself
    struct Write {
        std::int64_t offset = 0;
        std::string bytes;
        bool truncates = false;  ///< to `offset`
    };
    struct File {
        std::string synced;
        std::vector<Write> unsynced;
        bool ever_synced = false;
    };
    [[nodiscard]] std::shared_ptr<File> file(const std::string& name);
    void forget(const std::string& name);
    [[nodiscard]] int may_grow(std::int64_t from, std::int64_t to);
    void count_operation();

    std::mutex mutex;

  private:
    std::map<std::string, std::shared_ptr<File>> files_;
    std::atomic<std::int64_t> operations_{0};
};

}  // namespace breakstep::testing
