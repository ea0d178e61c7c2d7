#include "club/athletes/naming.hpp"

#include <fmt/format.h>
#include <algorithm>

#include <chrono>
#include <ctime>

#include "core/trade/junior.hpp"

namespace breakstep {
Expected<Athlete> athlete_typed(const Kept& store, const std::string& typed) {
    const std::string name(typed);
    const auto by_name = store.find_athlete(name);
    if (!by_name) return tl::make_unexpected(by_name.error());
    if (*by_name) return **by_name;
    const auto all = store.athletes();
    if (!all) return tl::make_unexpected(all.error());
    std::string names;
    std::size_t named = 0;
    for (const Athlete& athlete : *all) {
        if (id_text(athlete.id) == name) return athlete;
        if (++named <= 12) names += (names.empty() ? "" : ", ") + shown(athlete);
    }
    if (named > 12) names += fmt::format(" and {} more", named - 12);
    return failure(ErrorKind::not_found, fmt::format("there is no athlete \"{}\" in {}", name, store.place()),
                   names.empty() ? "it holds no athletes yet" : "there are: " + names);
}

std::string id_text(AthleteId id) { return fmt::format("{:016x}", static_cast<std::uint64_t>(id)); }

std::string shown(const Athlete& athlete) {
    return athlete.call_sign.empty() ? id_text(athlete.id) : athlete.call_sign;
}

std::string count_of(std::int64_t count, const char* what) {
    return fmt::format("{} {}{}", count, what, count == 1 ? "" : "s");
}

std::string local_date(std::int64_t unix_seconds) {
    const auto moment = static_cast<std::time_t>(unix_seconds);
    std::tm local{};
    localtime_r(&moment, &local);
    return fmt::format("{:04}-{:02}-{:02}", local.tm_year + 1900, local.tm_mon + 1, local.tm_mday);
}

std::int64_t unix_now() {
    return std::chrono::duration_cast<std::chrono::seconds>(std::chrono::system_clock::now().time_since_epoch())
        .count();
}

std::int32_t age_this_year(const Athlete& athlete) {
    return std::stoi(local_date(unix_now()).substr(0, 4)) - athlete.birth_year.value_or(0);
}

std::int32_t least_age(const Athlete& athlete) {
    return athlete.birth_year ? std::max(1, age_this_year(athlete) - 1) : 0;
}

bool is_nudged(const Athlete& athlete) { return !athlete.birth_year || age_this_year(athlete) > nudge_from_years; }

bool is_child(const Athlete& athlete) { return athlete.birth_year && age_this_year(athlete) <= junior_under_years; }

}  // namespace breakstep
