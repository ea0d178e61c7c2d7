// The backup that is made by itself, once a day of use: a folder STORE.backups beside the store, its owner's alone,
// with one store a day, named by its date. Kept are those of the last 7 days, and of each of the last 8 weeks the
// newest.
//
// Not noted in the store: their place is known, and erasing an athlete rewrites them (copies_that_hold finds them).
// Main thread. Failures as Store::backup's; a store that is not whole is not copied, and nothing is removed then.
#pragma once

#include <filesystem>
#include <string_view>
#include <vector>

#include "store/store.hpp"

namespace breakstep {

/// The folder of a store's daily backups, there or not.
[[nodiscard]] std::filesystem::path daily_folder(const std::filesystem::path& store);
/// Those that are there, the oldest first.
[[nodiscard]] std::vector<std::filesystem::path> daily_backups(const std::filesystem::path& store);

struct DailyBackup {
    std::filesystem::path made;  ///< empty if today has one already, or the store holds nobody and nothing
    std::vector<std::filesystem::path> removed;
};
/// `today` as 2024-09-30.
[[nodiscard]] Expected<DailyBackup> back_up_daily(const Store& store, std::string_view today);

}  // namespace breakstep
