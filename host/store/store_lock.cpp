#include "store/store_lock.hpp"

#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>

#include <cerrno>
#include <string>
#include <system_error>
#include <utility>

namespace breakstep {

Expected<StoreLock> StoreLock::take(const std::filesystem::path& store_path) { return take(store_path, O_CREAT); }

Expected<StoreLock> StoreLock::take_if_any(const std::filesystem::path& store_path) {
    std::error_code problem;
    if (!std::filesystem::exists(store_path.string() + ".lock", problem)) return StoreLock();
    return take(store_path, 0);
}

Expected<StoreLock> StoreLock::take(const std::filesystem::path& store_path, int how) {
    const std::string path = store_path.string() + ".lock";
    StoreLock lock;
    lock.descriptor_ = ::open(path.c_str(), O_RDWR | how | O_CLOEXEC | O_NOFOLLOW, 0600);
    if (lock.descriptor_ < 0) {
        const int reason = errno;
        const bool full = reason == ENOSPC || reason == EDQUOT;
        return failure(full ? ErrorKind::no_space : ErrorKind::system,
                       "the store " + store_path.string() +
                           " can't be written: " + std::generic_category().message(reason) + " (" + path + ")",
                       full ? "free some space on that disk" : "choose a folder you may write to with --store FILE");
    }
    if (::flock(lock.descriptor_, LOCK_EX | LOCK_NB) == 0) return lock;
    if (errno != EWOULDBLOCK) {
        return failure(
            ErrorKind::system,
            "the store " + store_path.string() + " can't be locked: " + std::generic_category().message(errno),
            "choose a folder on a local disk with --store FILE");
    }
    return failure(ErrorKind::in_use, "the store " + store_path.string() + " is being written by another breakstep",
                   "end that one first, or give this one a store of its own with --store FILE");
}

StoreLock::~StoreLock() {
    if (descriptor_ >= 0) ::close(descriptor_);
}

StoreLock::StoreLock(StoreLock&& other) noexcept : descriptor_(std::exchange(other.descriptor_, -1)) {}

StoreLock& StoreLock::operator=(StoreLock&& other) noexcept {
    std::swap(descriptor_, other.descriptor_);
    return *this;
}

}  // namespace breakstep
