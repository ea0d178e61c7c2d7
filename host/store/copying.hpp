// Small steps of making files that hold a store. Internal to host/store.
#pragma once

#include <filesystem>

#include "core/error.hpp"

namespace breakstep {

/// An empty file that only its owner may read; fails (bad_input) if there is one of this name already.
[[nodiscard]] Expected<void> make_empty_file(const std::filesystem::path& path);
/// Returns when a file, or a folder's list of files, is on the disk.
[[nodiscard]] Expected<void> sync_to_disk(const std::filesystem::path& path);

}  // namespace breakstep
