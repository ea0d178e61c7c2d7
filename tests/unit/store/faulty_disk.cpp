#include "faulty_disk.hpp"

#include <sqlite3.h>

#include <algorithm>
#include <cstring>
#include <fstream>
#include <new>

namespace breakstep::testing {
namespace {

FaultyDisk* the_disk = nullptr;
sqlite3_vfs* real_vfs = nullptr;

// Our file, then the real one's own room behind it.
struct FaultyFile {
    sqlite3_file base;
    std::shared_ptr<FaultyDisk::File> kept;  ///< null for files that need not survive
};
sqlite3_file* real_of(sqlite3_file* file) {
    return reinterpret_cast<sqlite3_file*>(reinterpret_cast<char*>(file) + sizeof(FaultyFile));
}
FaultyFile& ours(sqlite3_file* file) { return *reinterpret_cast<FaultyFile*>(file); }

void apply(std::string& content, const FaultyDisk::Write& write) {
    const auto offset = static_cast<std::size_t>(write.offset);
    if (write.truncates) {
        content.resize(offset);
        return;
    }
    if (content.size() < offset + write.bytes.size()) content.resize(offset + write.bytes.size());
    content.replace(offset, write.bytes.size(), write.bytes);
}

int close_file(sqlite3_file* file) {
    const int result = real_of(file)->pMethods->xClose(real_of(file));
    ours(file).kept.~shared_ptr();
    return result;
}
int read_file(sqlite3_file* file, void* into, int size, sqlite3_int64 offset) {
    return real_of(file)->pMethods->xRead(real_of(file), into, size, offset);
}
int write_file(sqlite3_file* file, const void* bytes, int size, sqlite3_int64 offset) {
    the_disk->count_operation();
    if (the_disk->writes_fail) return SQLITE_IOERR_WRITE;
    sqlite3_int64 length = 0;
    real_of(file)->pMethods->xFileSize(real_of(file), &length);
    if (const int grown = the_disk->may_grow(length, offset + size); grown != SQLITE_OK) return grown;
    const int result = real_of(file)->pMethods->xWrite(real_of(file), bytes, size, offset);
    if (result == SQLITE_OK && ours(file).kept) {
        const std::lock_guard lock(the_disk->mutex);
        ours(file).kept->unsynced.push_back(
            {offset, std::string(static_cast<const char*>(bytes), static_cast<std::size_t>(size)), false});
    }
    return result;
}
int truncate_file(sqlite3_file* file, sqlite3_int64 size) {
    the_disk->count_operation();
    const int result = real_of(file)->pMethods->xTruncate(real_of(file), size);
    if (result == SQLITE_OK && ours(file).kept) {
        const std::lock_guard lock(the_disk->mutex);
        ours(file).kept->unsynced.push_back({size, "", true});
    }
    return result;
}
int sync_file(sqlite3_file* file, int flags) {
    the_disk->count_operation();
    if (the_disk->sync_fails) return SQLITE_IOERR_FSYNC;
    const int result = real_of(file)->pMethods->xSync(real_of(file), flags);
    if (result == SQLITE_OK && ours(file).kept) {
        const std::lock_guard lock(the_disk->mutex);
        for (const FaultyDisk::Write& write : ours(file).kept->unsynced) apply(ours(file).kept->synced, write);
        ours(file).kept->unsynced.clear();
        ours(file).kept->ever_synced = true;
    }
    return result;
}
int size_of_file(sqlite3_file* file, sqlite3_int64* size) {
    return real_of(file)->pMethods->xFileSize(real_of(file), size);
}
int lock_file(sqlite3_file* file, int level) { return real_of(file)->pMethods->xLock(real_of(file), level); }
int unlock_file(sqlite3_file* file, int level) { return real_of(file)->pMethods->xUnlock(real_of(file), level); }
int check_lock(sqlite3_file* file, int* held) {
    return real_of(file)->pMethods->xCheckReservedLock(real_of(file), held);
}
int control_file(sqlite3_file* file, int what, void* argument) {
    return real_of(file)->pMethods->xFileControl(real_of(file), what, argument);
}
int sector_size(sqlite3_file* file) { return real_of(file)->pMethods->xSectorSize(real_of(file)); }
// Promises nothing: neither atomic sectors nor writes that keep their order.
int characteristics(sqlite3_file*) { return 0; }
int map_shared(sqlite3_file* file, int page, int size, int extend, void volatile** memory) {
    return real_of(file)->pMethods->xShmMap(real_of(file), page, size, extend, memory);
}
int lock_shared(sqlite3_file* file, int offset, int count, int flags) {
    return real_of(file)->pMethods->xShmLock(real_of(file), offset, count, flags);
}
void barrier(sqlite3_file* file) { real_of(file)->pMethods->xShmBarrier(real_of(file)); }
int unmap_shared(sqlite3_file* file, int remove) { return real_of(file)->pMethods->xShmUnmap(real_of(file), remove); }

// Version 2: shared memory, but no memory-mapped reads that would go past us.
const sqlite3_io_methods methods{
    2,           close_file,  read_file,    write_file,   truncate_file, sync_file,       size_of_file,
    lock_file,   unlock_file, check_lock,   control_file, sector_size,   characteristics, map_shared,
    lock_shared, barrier,     unmap_shared, nullptr,      nullptr};

int open_file(sqlite3_vfs*, const char* name, sqlite3_file* file, int flags, int* out_flags) {
    file->pMethods = nullptr;
    if ((flags & (SQLITE_OPEN_WAL | SQLITE_OPEN_MAIN_JOURNAL)) != 0 && the_disk->bytes_left == 0) return SQLITE_FULL;
    const int result = real_vfs->xOpen(real_vfs, name, real_of(file), flags, out_flags);
    if (result != SQLITE_OK) return result;
    new (&ours(file).kept) std::shared_ptr<FaultyDisk::File>();
    const bool survives = (flags & (SQLITE_OPEN_MAIN_DB | SQLITE_OPEN_WAL | SQLITE_OPEN_MAIN_JOURNAL)) != 0;
    if (survives && name != nullptr) ours(file).kept = the_disk->file(name);
    file->pMethods = &methods;
    return SQLITE_OK;
}
int delete_file(sqlite3_vfs*, const char* name, int sync_folder) {
    const int result = real_vfs->xDelete(real_vfs, name, sync_folder);
    if (result == SQLITE_OK) the_disk->forget(name);
    return result;
}

sqlite3_vfs faulty_vfs;

}  // namespace

FaultyDisk::FaultyDisk() {
    the_disk = this;
    real_vfs = sqlite3_vfs_find(nullptr);
    faulty_vfs = *real_vfs;
    faulty_vfs.zName = "faulty";
    faulty_vfs.szOsFile = static_cast<int>(sizeof(FaultyFile)) + real_vfs->szOsFile;
    faulty_vfs.xOpen = open_file;
    faulty_vfs.xDelete = delete_file;
    sqlite3_vfs_register(&faulty_vfs, 1);
}

FaultyDisk::~FaultyDisk() {
    sqlite3_vfs_unregister(&faulty_vfs);
    sqlite3_vfs_register(real_vfs, 1);
    the_disk = nullptr;
}

std::shared_ptr<FaultyDisk::File> FaultyDisk::file(const std::string& name) {
    const std::lock_guard lock(mutex);
    std::shared_ptr<File>& known = files_[name];
    if (!known) {
        known = std::make_shared<File>();
        // What was there before is taken to be safe.
        std::ifstream there(name, std::ios::binary);
        known->synced.assign(std::istreambuf_iterator<char>(there), {});
    }
    return known;
}

void FaultyDisk::forget(const std::string& name) {
    const std::lock_guard lock(mutex);
    files_.erase(name);
}

int FaultyDisk::may_grow(std::int64_t from, std::int64_t to) {
    if (to <= from || bytes_left < 0) return SQLITE_OK;
    if (bytes_left < to - from) return SQLITE_FULL;
    bytes_left -= to - from;
    return SQLITE_OK;
}

void FaultyDisk::count_operation() {
    const std::int64_t count = ++operations_;
    if (before_operation) before_operation(count);
}

void FaultyDisk::write_what_survives(Random& random, const std::filesystem::path& folder) {
    const std::lock_guard lock(mutex);
    for (const auto& [name, file] : files_) {
        std::string content = file->synced;
        for (const Write& write : file->unsynced)
            if (random.chance(0.5)) apply(content, write);
        std::ofstream out(folder / std::filesystem::path(name).filename(), std::ios::binary);
        out << content;
    }
}

}  // namespace breakstep::testing
