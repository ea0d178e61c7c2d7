#include "store/capture_file.hpp"

#include <unistd.h>

#include <cerrno>
#include <utility>

#include "core/journal/codec.hpp"
#include "core/journal/events.hpp"
#include "files/new_file.hpp"
#include "files/reading.hpp"

namespace breakstep {
namespace {

constexpr std::string_view first_line = "breakstep capture 2\n";
constexpr std::size_t header_size = sizeof(std::uint16_t) + sizeof(std::uint32_t);
// The largest record holds the bytes that arrived at once.
constexpr std::uint32_t record_bytes_max = std::uint32_t{16} << 20U;

// The next record's kind and bytes; not whole at the end of the file, and where it is cut off.
struct ReadRecord {
    std::uint16_t kind = 0;
    std::string bytes;
    bool whole = false, at_end = false;
};
Expected<ReadRecord> next_record(files::OldFile& file) {
    ReadRecord record;
    const auto head = file.read(header_size);
    if (!head) return tl::make_unexpected(head.error());
    record.at_end = head->empty();
    if (head->size() < header_size) return record;
    std::uint32_t size = 0;
    ByteReader header(*head);
    header(record.kind, size);
    if (!header.good() || size > record_bytes_max) return record;
    auto bytes = file.read(size);
    if (!bytes) return tl::make_unexpected(bytes.error());
    record.whole = bytes->size() == size;
    record.bytes = std::move(*bytes);
    return record;
}

/// The engine's call that begins a session, as far as its athletes need it: the input in it, the session first.
struct BeginningInput {
    SessionBegan session;
    template <class Archive>
    void fields(Archive& archive) {
        archive(session);
    }
};
struct BeginningCall {
    BeginningInput input;
    template <class Archive>
    void fields(Archive& archive) {
        archive(input);
    }
};

}  // namespace

Expected<NewCaptureFile> NewCaptureFile::create(const std::filesystem::path& path) {
    const Expected<int> descriptor = files::open_growing(path);
    if (!descriptor) {
        Error error = descriptor.error();
        error.what = "the capture " + error.what;
        if (error.kind == ErrorKind::bad_input) error.to_do = "name a new file after --capture: none is overwritten";
        return tl::make_unexpected(std::move(error));
    }
    NewCaptureFile file(path, *descriptor);
    file.waiting_ = first_line;
    return file;
}

NewCaptureFile::NewCaptureFile(NewCaptureFile&& other) noexcept
    : path_(std::move(other.path_)),
      descriptor_(std::exchange(other.descriptor_, -1)),
      waiting_(std::move(other.waiting_)),
      failed_(std::move(other.failed_)) {}

NewCaptureFile::~NewCaptureFile() { (void)close(); }

void NewCaptureFile::put(std::uint16_t kind, std::string_view bytes) {
    ByteWriter header(waiting_);
    header(kind, static_cast<std::uint32_t>(bytes.size()));
    waiting_ += bytes;
    constexpr std::size_t enough = std::size_t{1} << 15U;
    if (waiting_.size() >= enough) write_waiting();
}

// After a failure nothing more is written: what stands there is a beginning without holes.
void NewCaptureFile::write_waiting() {
    if (!failed_ && descriptor_ >= 0)
        if (const auto written = files::write_all(descriptor_, waiting_, path_); !written) failed_ = written.error();
    waiting_.clear();
}

Expected<void> NewCaptureFile::close() {
    if (descriptor_ < 0) return {};
    write_waiting();
    if (::close(std::exchange(descriptor_, -1)) != 0 && !failed_)
        failed_ = files::system_error(path_, "written", errno);
    if (!failed_) return {};
    Error error = *failed_;
    error.what = "not all of the capture could be written: " + error.what;
    error.to_do = "make room on the disk; the session itself is in the store";
    return tl::make_unexpected(std::move(error));
}

Expected<void> read_capture_file(const std::filesystem::path& path,
                                 const std::function<bool(std::uint16_t kind, std::string_view bytes)>& each) {
    Expected<files::OldFile> file = files::OldFile::open(path);
    if (!file) {
        if (file.error().kind != ErrorKind::not_found) return tl::make_unexpected(file.error());
        return failure(ErrorKind::not_found, "there is no capture " + path.string(), "check its name");
    }
    const auto first = file->read(first_line.size());
    if (!first) return tl::make_unexpected(first.error());
    if (*first != first_line)
        return failure(ErrorKind::incompatible, path.string() + " is no capture of this version",
                       "take a file that drill --capture has written");
    for (;;) {
        const auto record = next_record(*file);
        if (!record) return tl::make_unexpected(record.error());
        if (record->at_end) return {};
        if (!record->whole || !each(record->kind, record->bytes))
            return failure(ErrorKind::damaged, "the capture " + path.string() + " is damaged or cut off",
                           "everything before the damage was played");
    }
}

Expected<std::set<std::uint64_t>> athletes_in_capture(const std::filesystem::path& path) {
    std::set<std::uint64_t> whose;
    const auto read = read_capture_file(path, [&](std::uint16_t kind, std::string_view bytes) {
        if (kind != capture_start_kind) return true;
        BeginningCall call;
        ByteReader reader(bytes);
        reader(call);
        if (!reader.good()) return false;
        const SessionBegan& began = call.input.session;
        whose.insert(static_cast<std::uint64_t>(began.athlete));
        for (const Participant& one : began.participants) whose.insert(static_cast<std::uint64_t>(one.athlete));
        return true;
    });
    if (!read && read.error().kind != ErrorKind::damaged) return tl::make_unexpected(read.error());
    return whose;
}

}  // namespace breakstep
