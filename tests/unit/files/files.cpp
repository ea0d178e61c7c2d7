// Files come to their place whole, for their owner alone, and over nothing that is there.
#include <doctest/doctest.h>

#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include <csignal>
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <ostream>

#include "files/new_file.hpp"
#include "files/reading.hpp"

using namespace breakstep;
using namespace breakstep::files;
namespace fs = std::filesystem;

namespace {

struct Room {
    Room() {
        char name[] = "/tmp/breakstep-files-XXXXXX";
        folder = mkdtemp(name);
    }
    ~Room() {
        std::error_code ignored;
        fs::remove_all(folder, ignored);
    }
    [[nodiscard]] fs::path operator/(const char* name) const { return folder / name; }
    [[nodiscard]] int entries() const {
        return static_cast<int>(std::distance(fs::directory_iterator(folder), fs::directory_iterator()));
    }
    fs::path folder;
};

std::string content(const fs::path& path) {
    std::ifstream file(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), {}};
}

unsigned rights(const fs::path& path) {
    struct stat facts {};
    REQUIRE(::stat(path.c_str(), &facts) == 0);
    return facts.st_mode & 0777U;
}

/// A disk on which no file may grow beyond `bytes`.
class SmallDisk {
  public:
    explicit SmallDisk(rlim_t bytes) {
        std::signal(SIGXFSZ, SIG_IGN);
        getrlimit(RLIMIT_FSIZE, &before_);
        const rlimit limit{bytes, before_.rlim_max};
        setrlimit(RLIMIT_FSIZE, &limit);
    }
    ~SmallDisk() { setrlimit(RLIMIT_FSIZE, &before_); }
    SmallDisk(const SmallDisk&) = delete;
    SmallDisk& operator=(const SmallDisk&) = delete;

  private:
    rlimit before_{};
};

}  // namespace

TEST_CASE("a new file is its owner's alone, whatever the umask, and nothing else stands beside it") {
    const Room room;
    const mode_t before = ::umask(0);
    CHECK(write_whole(room / "a.txt", "text", Existing::refuse).has_value());
    CHECK(make_folder(room.folder / "one" / "two").has_value());
    ::umask(before);
    CHECK(content(room / "a.txt") == "text");
    CHECK(rights(room / "a.txt") == 0600);
    CHECK(rights(room / "one") == 0700);
    CHECK(rights(room.folder / "one" / "two") == 0700);
    CHECK(room.entries() == 2);
}

TEST_CASE("a file that is there stays unless it may be replaced, a link, a folder and a device are never replaced") {
    const Room room;
    std::ofstream(room / "a.txt") << "old";
    CHECK(write_whole(room / "a.txt", "new", Existing::refuse).error().kind == ErrorKind::bad_input);
    CHECK(content(room / "a.txt") == "old");
    CHECK(write_whole(room / "a.txt", "new", Existing::replace).has_value());
    CHECK(content(room / "a.txt") == "new");
    fs::create_symlink(room / "a.txt", room / "link");
    fs::create_symlink(room / "nowhere", room / "dangling");
    fs::create_directory(room / "folder");
    for (const char* name : {"link", "dangling", "folder"}) {
        CAPTURE(name);
        CHECK(write_whole(room / name, "new", Existing::replace).error().kind == ErrorKind::bad_input);
        CHECK(write_whole(room / name, "new", Existing::refuse).error().kind == ErrorKind::bad_input);
    }
    CHECK(write_whole("/dev/null", "new", Existing::replace).error().kind == ErrorKind::bad_input);
    CHECK_FALSE(fs::exists(room / "nowhere"));
    CHECK(open_growing(room / "a.txt").error().kind == ErrorKind::bad_input);
    CHECK(room.entries() == 4);
}

TEST_CASE("a file that appears meanwhile is not written over") {
    const Room room;
    auto file = NewFile::begin(room / "a.txt", Existing::refuse);
    REQUIRE(file.has_value());
    REQUIRE(file->write("ours").has_value());
    std::ofstream(room / "a.txt") << "theirs";
    CHECK(file->commit().error().kind == ErrorKind::bad_input);
    CHECK(content(room / "a.txt") == "theirs");
}

TEST_CASE("on a full disk the old file stays whole, the failure names it, and nothing is left behind") {
    const Room room;
    std::ofstream(room / "a.txt") << "old";
    {
        const SmallDisk disk(4096);
        const auto written = write_whole(room / "a.txt", std::string(10'000, 'n'), Existing::replace);
        REQUIRE_FALSE(written.has_value());
        CHECK(written.error().kind == ErrorKind::no_space);
        CHECK(written.error().what.find((room / "a.txt").string()) != std::string::npos);
        const auto streamed = write_streamed(room / "b.txt", Existing::refuse, [](std::ostream& out) {
            out << std::string(200'000, 's');
            return Expected<void>{};
        });
        REQUIRE_FALSE(streamed.has_value());
        CHECK(streamed.error().kind == ErrorKind::no_space);
    }
    CHECK(content(room / "a.txt") == "old");
    CHECK(room.entries() == 1);
}

TEST_CASE("what a cut-off run left is taken away by the next, what another one is writing is not") {
    const Room room;
    std::ofstream(passing_name(room / "a.txt")) << "half";
    CHECK(write_whole(room / "a.txt", "whole", Existing::refuse).has_value());
    CHECK(content(room / "a.txt") == "whole");
    const auto other = NewFile::begin(room / "b.txt", Existing::refuse);
    REQUIRE(other.has_value());
    CHECK(write_whole(room / "b.txt", "second", Existing::refuse).error().kind == ErrorKind::in_use);
    CHECK_FALSE(remove_left_over(room / "b.txt"));
}

TEST_CASE("a folder, a device and a pipe are told at once, and what is too large is not read") {
    const Room room;
    std::ofstream(room / "a.txt") << "0123456789";
    REQUIRE(::mkfifo((room / "pipe").c_str(), 0600) == 0);
    CHECK(read_whole(room / "a.txt", 10).value() == "0123456789");
    CHECK(read_whole(room / "a.txt", 9).error().kind == ErrorKind::bad_input);
    CHECK(read_beginning(room / "a.txt", 4).value() == "0123");
    CHECK(read_whole(room.folder, 100).error().kind == ErrorKind::bad_input);
    CHECK(read_whole("/dev/zero", 100).error().kind == ErrorKind::bad_input);
    CHECK(read_whole(room / "pipe", 100).error().kind == ErrorKind::bad_input);
    CHECK(read_whole(room / "none", 100).error().kind == ErrorKind::not_found);
}

TEST_CASE("a disk that fails while it is read is an error, not an end") {
    // The kernel lets nobody read the memory at address 0: each reading of this file fails with EIO.
    auto file = OldFile::open("/proc/self/mem");
    if (!file) return;
    CHECK_FALSE(file->read(16).has_value());
}
