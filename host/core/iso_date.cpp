#include "core/iso_date.hpp"

#include <cstdio>

namespace breakstep {
namespace {

// Of decimal digits alone: no sign, no space.
std::optional<int> number_from(std::string_view digits) {
    int value = 0;
    for (const char digit : digits) {
        if (digit < '0' || digit > '9') return std::nullopt;
        value = value * 10 + (digit - '0');
    }
    return value;
}

}  // namespace

std::optional<std::chrono::sys_days> date_from(std::string_view text) {
    if (text.size() != 10 || text[4] != '-' || text[7] != '-') return std::nullopt;
    const auto year = number_from(text.substr(0, 4)), month = number_from(text.substr(5, 2)),
               day = number_from(text.substr(8, 2));
    if (!year || !month || !day || *year < 1900 || *year > 2200) return std::nullopt;
    const std::chrono::year_month_day date{std::chrono::year(*year), std::chrono::month(static_cast<unsigned>(*month)),
                                           std::chrono::day(static_cast<unsigned>(*day))};
    if (!date.ok()) return std::nullopt;
    return std::chrono::sys_days(date);
}

std::string date_text(std::chrono::sys_days date) {
    const std::chrono::year_month_day parts(date);
    char text[32];
    std::snprintf(text, sizeof text, "%04d-%02u-%02u", static_cast<int>(parts.year()),
                  static_cast<unsigned>(parts.month()), static_cast<unsigned>(parts.day()));
    return text;
}

}  // namespace breakstep
