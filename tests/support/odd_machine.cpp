// A computer with a clock that is wrong, or a disk that is full, for one program: loaded before its libraries
// (LD_PRELOAD) by the tests of clubs together. Linux with glibc; any thread.
//
// BREAKSTEP_TEST_CLOCK_S: by so many seconds the day's clock is ahead; the steady one is not touched.
// BREAKSTEP_TEST_FULL: a file that says, while it is there, for which paths the disk is full: a part of their names.
// What is there may still be written over, as on a disk that is full.
#include <dlfcn.h>
#include <fcntl.h>
#include <sys/stat.h>
#include <sys/uio.h>
#include <time.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>
#include <cstdlib>
#include <cstring>

namespace {

template <class Function>
Function next(const char* name) {
    return reinterpret_cast<Function>(dlsym(RTLD_NEXT, name));
}

long ahead_seconds() {
    const char* typed = std::getenv("BREAKSTEP_TEST_CLOCK_S");
    return typed == nullptr ? 0 : std::atol(typed);
}

/// Whether writing up to `end` would take room that is not there.
bool has_no_room(int file, off_t end) {
    const char* said_in = std::getenv("BREAKSTEP_TEST_FULL");
    if (said_in == nullptr) return false;
    const int saying = ::open(said_in, O_RDONLY | O_CLOEXEC);
    if (saying < 0) return false;
    char part[200] = {};
    const ssize_t read = ::read(saying, part, sizeof part - 1);
    ::close(saying);
    if (read <= 0) return false;
    char link[64], path[4096] = {};
    std::snprintf(link, sizeof link, "/proc/self/fd/%d", file);
    if (::readlink(link, path, sizeof path - 1) < 0 || std::strstr(path, part) == nullptr) return false;
    struct stat status {};
    return ::fstat(file, &status) == 0 && end > status.st_size;
}

ssize_t refused() {
    errno = ENOSPC;
    return -1;
}

}  // namespace

extern "C" {

int clock_gettime(clockid_t clock, timespec* at) {
    static const auto real = next<int (*)(clockid_t, timespec*)>("clock_gettime");
    const int done = real(clock, at);
    if (done == 0 && (clock == CLOCK_REALTIME || clock == CLOCK_REALTIME_COARSE)) at->tv_sec += ahead_seconds();
    return done;
}

time_t time(time_t* at) {
    timespec now{};
    clock_gettime(CLOCK_REALTIME, &now);
    if (at != nullptr) *at = now.tv_sec;
    return now.tv_sec;
}

ssize_t pwrite(int file, const void* bytes, size_t count, off_t from) {
    static const auto real = next<ssize_t (*)(int, const void*, size_t, off_t)>("pwrite");
    return has_no_room(file, from + static_cast<off_t>(count)) ? refused() : real(file, bytes, count, from);
}
ssize_t pwritev(int file, const iovec* parts, int count, off_t from) {
    static const auto real = next<ssize_t (*)(int, const iovec*, int, off_t)>("pwritev");
    off_t end = from;
    for (int i = 0; i < count; ++i) end += static_cast<off_t>(parts[i].iov_len);
    return has_no_room(file, end) ? refused() : real(file, parts, count, from);
}

}  // extern "C"
