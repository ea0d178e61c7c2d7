// A file that is being written, and appears whole or not at all.
//
// It is written beside its place under a passing name (place.hpp), its owner's alone (0600). commit() brings it to the
// disk and gives it its name in one step; without commit() nothing of it stays. However the program ends, at each
// moment there is the old file, or the new one, or none as before: never a part of one.
//
// Owned by the writing function; one thread. Failures as place.hpp's; a failed write is told by commit() at the latest.
#pragma once

#include <filesystem>
#include <functional>
#include <iosfwd>
#include <optional>
#include <string_view>

#include "files/place.hpp"

namespace breakstep::files {

class NewFile {
  public:
    /// Fails before anything is written if the name is taken and `existing` is refuse, or is a folder or a device.
    [[nodiscard]] static Expected<NewFile> begin(const std::filesystem::path& path, Existing existing);
    ~NewFile();
    NewFile(NewFile&& other) noexcept;
    NewFile& operator=(NewFile&&) = delete;
    NewFile(const NewFile&) = delete;
    NewFile& operator=(const NewFile&) = delete;

    /// After a failure nothing more is written, and each call tells the same.
    [[nodiscard]] Expected<void> write(std::string_view bytes);
    /// Where it stands until then, for what another library writes into it by name, in place.
    [[nodiscard]] const std::filesystem::path& passing() const { return passing_; }
    [[nodiscard]] Expected<void> commit();

  private:
    NewFile(std::filesystem::path path, Existing existing, int descriptor);
    std::filesystem::path path_, passing_;
    Existing existing_;
    int descriptor_;
    std::optional<Error> failed_;
};

/// Removes what a run that was cut off left of `path` under its passing name. True if something was there.
bool remove_left_over(const std::filesystem::path& path);

/// All of it at once.
[[nodiscard]] Expected<void> write_whole(const std::filesystem::path& path, std::string_view bytes, Existing existing);

/// What `write` puts into the stream. If it refuses, nothing stays.
[[nodiscard]] Expected<void> write_streamed(const std::filesystem::path& path, Existing existing,
                                            const std::function<Expected<void>(std::ostream&)>& write);

/// A copy to the byte, as NewFile's.
[[nodiscard]] Expected<void> copy_whole(const std::filesystem::path& from, const std::filesystem::path& to,
                                        Existing existing);

/// Opens a new file for what must stand on the disk as it grows, cut off or not (a capture): never one that is there,
/// its owner's alone. Gives a descriptor that the caller closes.
[[nodiscard]] Expected<int> open_growing(const std::filesystem::path& path);

/// Writes all of it, however the system parts it. Fails with the system's reason, naming `path`.
[[nodiscard]] Expected<void> write_all(int descriptor, std::string_view bytes, const std::filesystem::path& path);

}  // namespace breakstep::files
