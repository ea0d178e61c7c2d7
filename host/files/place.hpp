// The steps by which a file or a folder comes to its place: made for its owner alone, whole, on the disk, and never
// over what is there. Everything that breakstep writes for good goes through this part (new_file.hpp for bytes; what
// SQLite writes is made under a passing name and put in its place by the functions here).
//
// Owns nothing; any thread. Failures name the file: bad_input (the name is taken, or is no name), not_found (its folder
// is missing), in_use (another breakstep is writing it), no_space, system.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>

#include "core/error.hpp"

namespace breakstep::files {

/// What happens where the name is taken already.
enum class Existing {
    refuse,  ///< an error, and what is there stays
    replace  ///< in one step: at each moment the old file or the new one
};

/// What `reason`, an errno, means for `path`, of which `doing` says what was tried: "written", "made", "read".
[[nodiscard]] Error system_error(const std::filesystem::path& path, std::string_view doing, int reason);

/// Where a file stands until it is whole: beside its place, hidden, with the same ending. A name of ours alone: what a
/// cut-off run left there is removed by the next.
[[nodiscard]] std::filesystem::path passing_name(const std::filesystem::path& path);

/// Returns when a file, or a folder's list of files, is on the disk.
[[nodiscard]] Expected<void> sync(const std::filesystem::path& path);

/// Gives a whole file its name. The file must be on the disk already; its folder's list is when this returns.
[[nodiscard]] Expected<void> put_in_place(const std::filesystem::path& passing, const std::filesystem::path& path,
                                          Existing existing);

/// Makes the folder and those above it that are missing, each its owner's alone. One that is there stays as it is.
[[nodiscard]] Expected<void> make_folder(const std::filesystem::path& folder);

/// Removes the file if it is there. Fails where it stays.
[[nodiscard]] Expected<void> remove_file(const std::filesystem::path& path);

/// Whether anything bears the name: a link that leads nowhere does too.
[[nodiscard]] bool is_taken(const std::filesystem::path& path);

}  // namespace breakstep::files
