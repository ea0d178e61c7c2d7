// The evening's own file: a store beside the store (STORE.tonight.db), its owner's alone, for results of athletes
// whose data may not be kept. Written as safely as the store, so that a power cut in the middle of an evening loses
// nothing; in no backup; removed when the evening is over.
//
// Its lock stays behind empty, as the store's does. Main thread. Failures: in_use (another breakstep writes it);
// bad_input (a file of that name that is not ours: it is left alone); system.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>

#include "core/error.hpp"

namespace breakstep {

/// "hall/club.db" has "hall/club.tonight.db".
[[nodiscard]] std::filesystem::path tonight_path(const std::filesystem::path& store);
/// Whether it bears the name of an evening's file.
[[nodiscard]] bool is_tonight(const std::filesystem::path& store);

/// Fails (bad_input) for a name of an evening's file: whatever bears it is removed the next morning.
[[nodiscard]] Expected<void> may_hold_a_copy(const std::filesystem::path& copy);

/// When anything was last recorded in the evening's file, in seconds since 1970 UTC; null if there is none.
[[nodiscard]] std::optional<std::int64_t> last_recorded(const std::filesystem::path& tonight);

/// All of it. Nothing if there is none.
[[nodiscard]] Expected<void> remove_tonight(const std::filesystem::path& tonight);

}  // namespace breakstep
