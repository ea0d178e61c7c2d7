// Which stores were found whole: a small file of this computer, so that a store that has not changed is not read twice
// for its sums. Internal to host/store.
//
// Any thread. Never fails: what can't be remembered is checked again.
#pragma once

#include <filesystem>
#include <string>

namespace breakstep {

/// Changes whenever the store's file or its write-ahead log does: place, device, inode, sizes, times of content and of
/// state. "" if there is no file.
[[nodiscard]] std::string fingerprint_of(const std::filesystem::path& store);

[[nodiscard]] bool was_whole(const std::filesystem::path& memory, const std::string& fingerprint);
void remember_whole(const std::filesystem::path& memory, const std::string& fingerprint);

}  // namespace breakstep
