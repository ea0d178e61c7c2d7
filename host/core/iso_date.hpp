// Dates as files and the store keep them: ISO, "2024-09-30", the Gregorian calendar, years 1900 to 2200. Pure; any
// thread.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include <chrono>

namespace breakstep {

/// Null for anything that is not such a date on the calendar (2023-02-29 is none).
[[nodiscard]] std::optional<std::chrono::sys_days> date_from(std::string_view text);
[[nodiscard]] std::string date_text(std::chrono::sys_days date);

}  // namespace breakstep
