#include "store/daily_backup.hpp"

#include <algorithm>
#include <map>
#include <optional>
#include <string>
#include <system_error>

#include "core/iso_date.hpp"
#include "files/place.hpp"
#include "store/identity.hpp"

namespace breakstep {

namespace fs = std::filesystem;

namespace {

constexpr int days_kept = 7, weeks_kept = 8;

std::optional<std::chrono::sys_days> day_of(const fs::path& path) {
    if (path.extension() != ".db") return std::nullopt;
    return date_from(path.stem().string());
}

// Weeks begin on a Monday; the first day of the clock's count was a Thursday.
std::int64_t week_of(std::chrono::sys_days day) {
    const std::int64_t days = day.time_since_epoch().count() + 3;
    return days >= 0 ? days / 7 : (days - 6) / 7;
}

// Those that no rule keeps. `all`: the oldest first.
std::vector<fs::path> outdated(const std::vector<fs::path>& all, std::chrono::sys_days today) {
    std::map<std::int64_t, fs::path> newest_of_week;
    for (const fs::path& path : all) newest_of_week[week_of(*day_of(path))] = path;
    std::vector<fs::path> gone;
    for (const fs::path& path : all) {
        const auto day = *day_of(path);
        const bool recent = (today - day).count() < days_kept;
        const bool of_its_week = week_of(today) - week_of(day) < weeks_kept && newest_of_week[week_of(day)] == path;
        if (!recent && !of_its_week) gone.push_back(path);
    }
    return gone;
}

Expected<bool> holds_anything(const Store& store) {
    const auto athletes = store.athletes();
    if (!athletes) return tl::make_unexpected(athletes.error());
    return !athletes->empty();
}

}  // namespace

fs::path daily_folder(const fs::path& store) { return with_ending(store, ".backups"); }

std::vector<fs::path> daily_backups(const fs::path& store) {
    std::vector<fs::path> found;
    std::error_code problem;
    for (auto entry = fs::directory_iterator(daily_folder(store), problem);
         !problem && entry != fs::directory_iterator(); entry.increment(problem))
        if (entry->is_regular_file(problem) && day_of(entry->path())) found.push_back(entry->path());
    std::sort(found.begin(), found.end());
    return found;
}

Expected<DailyBackup> back_up_daily(const Store& store, std::string_view today) {
    const auto day = date_from(today);
    if (!day) return failure(ErrorKind::bad_input, '"' + std::string(today) + "\" is no date", "set the clock");
    DailyBackup done;
    const fs::path copy = daily_folder(store.path()) / (std::string(today) + ".db");
    if (files::is_taken(copy)) return done;
    const Expected<bool> anything = holds_anything(store);
    if (!anything) return tl::make_unexpected(anything.error());
    if (!*anything) return done;
    if (const auto whole = store.verify(); !whole) return tl::make_unexpected(whole.error());
    const auto made = files::make_folder(daily_folder(store.path())).and_then([&] { return store.copy_to(copy); });
    if (!made) return tl::make_unexpected(made.error());
    done.made = copy;
    for (const fs::path& old : outdated(daily_backups(store.path()), *day))
        if (looks_like_a_store(old) && files::remove_file(old)) done.removed.push_back(old);
    return done;
}

}  // namespace breakstep
