// Reading files that a person named: plain files of a bounded size, and what the disk refuses as an error.
//
// A stream of the standard library throws when a disk fails in the middle, and reads a device for ever; this neither.
// Any thread. Failures: not_found; bad_input (a folder, a device, too large); system (not allowed, or the disk fails).
#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <string>

#include "files/place.hpp"

namespace breakstep::files {

/// The whole of a plain file of at most `bytes_max` bytes.
[[nodiscard]] Expected<std::string> read_whole(const std::filesystem::path& path, std::size_t bytes_max);

/// The first bytes of a plain file, at most `bytes`.
[[nodiscard]] Expected<std::string> read_beginning(const std::filesystem::path& path, std::size_t bytes);

/// A plain file read from its beginning on, part after part.
class OldFile {
  public:
    [[nodiscard]] static Expected<OldFile> open(const std::filesystem::path& path);
    ~OldFile();
    OldFile(OldFile&& other) noexcept;
    OldFile& operator=(OldFile&&) = delete;
    OldFile(const OldFile&) = delete;
    OldFile& operator=(const OldFile&) = delete;

    /// When it was opened.
    [[nodiscard]] std::uint64_t bytes() const { return bytes_; }
    /// The next `count` bytes; fewer at the end.
    [[nodiscard]] Expected<std::string> read(std::size_t count);

  private:
    OldFile(std::filesystem::path path, int descriptor, std::uint64_t bytes);
    std::filesystem::path path_;
    int descriptor_;
    std::uint64_t bytes_;
};

}  // namespace breakstep::files
