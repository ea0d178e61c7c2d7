#include "files/new_file.hpp"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <ostream>
#include <streambuf>
#include <string>
#include <utility>
#include <vector>

#include "files/reading.hpp"

namespace breakstep::files {

namespace fs = std::filesystem;

namespace {

constexpr int new_only = O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW;

// Whether what stands under a passing name was left by a run that was cut off: a plain file of this user that nobody is
// writing.
bool is_left_over(const fs::path& passing) {
    struct stat facts {};
    if (::lstat(passing.c_str(), &facts) != 0 || !S_ISREG(facts.st_mode) || facts.st_uid != ::geteuid()) return false;
    const int descriptor = ::open(passing.c_str(), O_RDONLY | O_CLOEXEC | O_NOFOLLOW);
    if (descriptor < 0) return false;
    const bool free = ::flock(descriptor, LOCK_EX | LOCK_NB) == 0;
    ::close(descriptor);
    return free;
}

Expected<int> open_passing(const fs::path& path) {
    const fs::path passing = passing_name(path);
    int descriptor = ::open(passing.c_str(), new_only, 0600);
    if (descriptor < 0 && errno == EEXIST) {
        if (!is_left_over(passing))
            return failure(ErrorKind::in_use,
                           path.string() + " can't be written: " + passing.string() + " is in the way",
                           "end the program that writes it, or remove that file");
        ::unlink(passing.c_str());
        descriptor = ::open(passing.c_str(), new_only, 0600);
    }
    if (descriptor < 0) return tl::make_unexpected(system_error(path, "written", errno));
    // Held while it is written; a disk without locks goes without.
    ::flock(descriptor, LOCK_EX | LOCK_NB);
    return descriptor;
}

// What a database keeps beside itself: SQLite's own names, and the lock.
Expected<void> may_stand_beside(const fs::path& path) {
    const std::string name = path.string();
    for (const std::string_view ending : {"-journal", "-wal", "-shm", ".lock", ".backups"}) {
        if (!std::string_view(name).ends_with(ending)) continue;
        const fs::path beside = name.substr(0, name.size() - ending.size());
        const auto beginning = read_beginning(beside, 15);
        if (beginning && *beginning == "SQLite format 3")
            return failure(ErrorKind::bad_input, name + " is the name of what " + beside.string() + " keeps beside it",
                           "choose another name");
    }
    return {};
}

Expected<void> may_become(const fs::path& path, Existing existing) {
    if (!path.has_filename() || path.filename() == "." || path.filename() == "..")
        return failure(ErrorKind::bad_input, '"' + path.string() + "\" is not the name of a file", "name a file");
    if (Expected<void> may = may_stand_beside(path); !may) return may;
    struct stat facts {};
    if (::lstat(path.c_str(), &facts) != 0) return {};
    if (existing == Existing::refuse) return tl::make_unexpected(system_error(path, "made", EEXIST));
    if (S_ISREG(facts.st_mode)) return {};
    return failure(ErrorKind::bad_input, path.string() + " is no plain file that another may take the place of",
                   "name a new file");
}

/// A stream's buffer in front of a NewFile. What failed is kept by the file, and told by its commit().
class FileBuffer : public std::streambuf {
  public:
    explicit FileBuffer(NewFile& file) : file_(file), room_(std::size_t{1} << 16U) {
        setp(room_.data(), room_.data() + room_.size());
    }

  protected:
    int_type overflow(int_type character) override {
        if (sync() != 0) return traits_type::eof();
        if (!traits_type::eq_int_type(character, traits_type::eof()))
            return sputc(traits_type::to_char_type(character));
        return traits_type::not_eof(character);
    }
    int sync() override {
        const bool good = file_.write({pbase(), static_cast<std::size_t>(pptr() - pbase())}).has_value();
        setp(room_.data(), room_.data() + room_.size());
        return good ? 0 : -1;
    }

  private:
    NewFile& file_;
    std::vector<char> room_;
};

}  // namespace

Expected<void> write_all(int descriptor, std::string_view bytes, const fs::path& path) {
    while (!bytes.empty()) {
        const ssize_t count = ::write(descriptor, bytes.data(), bytes.size());
        if (count < 0 && errno == EINTR) continue;
        if (count < 0) return tl::make_unexpected(system_error(path, "written", errno));
        bytes.remove_prefix(static_cast<std::size_t>(count));
    }
    return {};
}

Expected<NewFile> NewFile::begin(const fs::path& path, Existing existing) {
    if (Expected<void> may = may_become(path, existing); !may) return tl::make_unexpected(may.error());
    const Expected<int> descriptor = open_passing(path);
    if (!descriptor) return tl::make_unexpected(descriptor.error());
    return NewFile(path, existing, *descriptor);
}

NewFile::NewFile(fs::path path, Existing existing, int descriptor)
    : path_(std::move(path)), passing_(passing_name(path_)), existing_(existing), descriptor_(descriptor) {}

NewFile::NewFile(NewFile&& other) noexcept
    : path_(std::move(other.path_)),
      passing_(std::move(other.passing_)),
      existing_(other.existing_),
      descriptor_(std::exchange(other.descriptor_, -1)),
      failed_(std::move(other.failed_)) {}

NewFile::~NewFile() {
    if (descriptor_ < 0) return;
    // Before the lock goes, so that it can't be another run's.
    ::unlink(passing_.c_str());
    ::close(descriptor_);
}

Expected<void> NewFile::write(std::string_view bytes) {
    if (failed_) return tl::make_unexpected(*failed_);
    Expected<void> written = write_all(descriptor_, bytes, path_);
    if (!written) failed_ = written.error();
    return written;
}

Expected<void> NewFile::commit() {
    if (failed_) return tl::make_unexpected(*failed_);
    if (::fsync(descriptor_) != 0) return tl::make_unexpected(system_error(path_, "written", errno));
    Expected<void> placed = put_in_place(passing_, path_, existing_);
    // Without its passing name there is nothing to take away, even if the folder's list could not be brought to the
    // disk.
    if (!is_taken(passing_)) ::close(std::exchange(descriptor_, -1));
    return placed;
}

Expected<void> write_whole(const fs::path& path, std::string_view bytes, Existing existing) {
    Expected<NewFile> file = NewFile::begin(path, existing);
    if (!file) return tl::make_unexpected(file.error());
    return file->write(bytes).and_then([&] { return file->commit(); });
}

Expected<void> write_streamed(const fs::path& path, Existing existing,
                              const std::function<Expected<void>(std::ostream&)>& write) {
    Expected<NewFile> file = NewFile::begin(path, existing);
    if (!file) return tl::make_unexpected(file.error());
    FileBuffer buffer(*file);
    std::ostream stream(&buffer);
    if (Expected<void> written = write(stream); !written) return written;
    stream.flush();
    return file->commit();
}

Expected<void> copy_whole(const fs::path& from, const fs::path& to, Existing existing) {
    Expected<OldFile> old = OldFile::open(from);
    if (!old) return tl::make_unexpected(old.error());
    Expected<NewFile> file = NewFile::begin(to, existing);
    if (!file) return tl::make_unexpected(file.error());
    for (;;) {
        const Expected<std::string> part = old->read(std::size_t{1} << 20U);
        if (!part) return tl::make_unexpected(part.error());
        if (part->empty()) return file->commit();
        if (Expected<void> written = file->write(*part); !written) return written;
    }
}

bool remove_left_over(const fs::path& path) {
    const fs::path passing = passing_name(path);
    return is_left_over(passing) && ::unlink(passing.c_str()) == 0;
}

Expected<int> open_growing(const fs::path& path) {
    if (Expected<void> may = may_stand_beside(path); !may) return tl::make_unexpected(may.error());
    const int descriptor = ::open(path.c_str(), new_only, 0600);
    if (descriptor >= 0) return descriptor;
    return tl::make_unexpected(system_error(path, "made", errno));
}

}  // namespace breakstep::files
