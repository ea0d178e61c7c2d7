// The store's tables, as the steps that lead from one version to the next. Internal to host/store.
//
// PRAGMA user_version counts the steps a store has been through. A step, once released, is never changed; a new need is
// a new step at the end.
#pragma once

#include <cstdint>
#include <span>
#include <string_view>

namespace breakstep::schema {

/// "brks" in ASCII: tells our files from other SQLite databases.
inline constexpr std::int32_t application_id = 0x62726b73;

/// Step i leads from version i to version i + 1.
[[nodiscard]] std::span<const std::string_view> steps();
[[nodiscard]] inline std::int32_t newest_version() { return static_cast<std::int32_t>(steps().size()); }

}  // namespace breakstep::schema
