#include "files/reading.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <utility>

namespace breakstep::files {

namespace fs = std::filesystem;

Expected<OldFile> OldFile::open(const fs::path& path) {
    // Without waiting for a writer, should it be a pipe.
    const int descriptor = ::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK | O_NOCTTY);
    if (descriptor < 0) return tl::make_unexpected(system_error(path, "read", errno));
    struct stat facts {};
    if (::fstat(descriptor, &facts) == 0 && S_ISREG(facts.st_mode))
        return OldFile(path, descriptor, static_cast<std::uint64_t>(facts.st_size));
    ::close(descriptor);
    return failure(ErrorKind::bad_input,
                   path.string() + (S_ISDIR(facts.st_mode) ? " is a folder, not a file" : " is no plain file"),
                   "name a file");
}

OldFile::OldFile(fs::path path, int descriptor, std::uint64_t bytes)
    : path_(std::move(path)), descriptor_(descriptor), bytes_(bytes) {}
OldFile::OldFile(OldFile&& other) noexcept
    : path_(std::move(other.path_)), descriptor_(std::exchange(other.descriptor_, -1)), bytes_(other.bytes_) {}
OldFile::~OldFile() {
    if (descriptor_ >= 0) ::close(descriptor_);
}

Expected<std::string> OldFile::read(std::size_t count) {
    std::string read(count, '\0');
    std::size_t have = 0;
    while (have < count) {
        const ssize_t got = ::read(descriptor_, read.data() + have, count - have);
        if (got < 0 && errno == EINTR) continue;
        if (got < 0) return tl::make_unexpected(system_error(path_, "read", errno));
        if (got == 0) break;
        have += static_cast<std::size_t>(got);
    }
    read.resize(have);
    return read;
}

Expected<std::string> read_whole(const fs::path& path, std::size_t bytes_max) {
    Expected<OldFile> file = OldFile::open(path);
    if (!file) return tl::make_unexpected(file.error());
    // It may grow meanwhile: one byte more is asked for than it may have.
    const auto asked = static_cast<std::size_t>(std::min<std::uint64_t>(file->bytes(), bytes_max)) + 1;
    Expected<std::string> read = file->read(asked);
    if (!read || read->size() <= bytes_max) return read;
    return failure(ErrorKind::bad_input, path.string() + " is larger than " + std::to_string(bytes_max) + " bytes",
                   "name another file");
}

Expected<std::string> read_beginning(const fs::path& path, std::size_t bytes) {
    return OldFile::open(path).and_then([&](OldFile&& file) { return file.read(bytes); });
}

}  // namespace breakstep::files
