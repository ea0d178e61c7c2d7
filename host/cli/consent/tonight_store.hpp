// The evening's own file in use: opened for an athlete whose results may not be kept, ended with the evening, and
// cleared away by the first start after it.
//
// Main thread. Failures as the store's (store.hpp, tonight.hpp).
#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>

#include "store/store.hpp"

namespace breakstep {

/// Whether a file in which something was last recorded at `recorded` is of an evening that is over: evenings end at
/// four in the morning by this computer's clock. A clock that was set back to another evening ends it too: what may not
/// be kept is rather lost than kept by a wrong clock.
[[nodiscard]] bool tonight_is_over(std::int64_t recorded_unix_seconds, std::int64_t now_unix_seconds);

/// At the start of whatever uses the store: an evening's file that is over goes, and that is said on stderr.
void clear_last_evening(const std::filesystem::path& store);

/// Opens (makes) the evening's file of `store` for writing inline, with the athlete and the calibrations in it.
[[nodiscard]] Expected<std::unique_ptr<Store>> open_tonight(const Store& store, const Athlete& athlete);

/// At the evening's end: says whose results were the evening's only, and removes them.
void end_tonight(const std::filesystem::path& store);

/// Fails (bad_input) for an evening's file: nothing that stays is made from it.
[[nodiscard]] Expected<void> may_be_copied(const std::filesystem::path& store);

}  // namespace breakstep
