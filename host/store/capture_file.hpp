// A capture as a file, whatever is in it: a line of text naming the version, then records of (kind, size, bytes). What
// the records mean is the engine's to say (hall/engine/capture.hpp), but for one: a session's beginning names its
// athletes, so that whoever erases an athlete finds the captures that hold something of them.
//
// NewCaptureFile is owned by one writer, on its thread. It grows in place: cut off, it is still good up to there.
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <optional>
#include <set>
#include <string>
#include <string_view>

#include "core/error.hpp"

namespace breakstep {

/// The record of a session's beginning: the call, the input in it, its SessionBegan first.
inline constexpr std::uint16_t capture_start_kind = 50;

class NewCaptureFile {
  public:
    /// Makes the file, its owner's alone. Fails (bad_input) if it is there already, else as making a file does.
    [[nodiscard]] static Expected<NewCaptureFile> create(const std::filesystem::path& path);
    ~NewCaptureFile();
    NewCaptureFile(NewCaptureFile&& other) noexcept;
    NewCaptureFile& operator=(NewCaptureFile&&) = delete;
    NewCaptureFile(const NewCaptureFile&) = delete;
    NewCaptureFile& operator=(const NewCaptureFile&) = delete;

    void put(std::uint16_t kind, std::string_view bytes);
    /// Fails if not all of it could be written.
    [[nodiscard]] Expected<void> close();

  private:
    NewCaptureFile(std::filesystem::path path, int descriptor) : path_(std::move(path)), descriptor_(descriptor) {}
    void write_waiting();
    std::filesystem::path path_;
    int descriptor_;
    std::string waiting_;
    std::optional<Error> failed_;
};

/// Calls `each` with every whole record, which says whether it can be one. Fails: not_found, bad_input (a folder, a
/// device), incompatible, damaged (cut off, or a record refused), system (the disk fails).
[[nodiscard]] Expected<void> read_capture_file(
    const std::filesystem::path& path, const std::function<bool(std::uint16_t kind, std::string_view bytes)>& each);

/// Whose sessions begin in it, by id; of a damaged one those in front of the damage. Fails as read_capture_file() does,
/// but for damage.
[[nodiscard]] Expected<std::set<std::uint64_t>> athletes_in_capture(const std::filesystem::path& path);

}  // namespace breakstep
