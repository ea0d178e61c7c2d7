#include "club/consent/sound_today.hpp"

#include <fmt/format.h>

#include <chrono>

#include "club/athletes/naming.hpp"
#include "core/iso_date.hpp"
#include "store/consent.hpp"

namespace breakstep {
namespace {

constexpr int oldest_years = 110;

std::optional<Unsound> unsound(Unsound::Of of, std::string what, std::string to_do) {
    return Unsound{of, {ErrorKind::bad_input, std::move(what), std::move(to_do)}};
}

std::optional<Unsound> unsound_year(const Athlete& athlete, std::string_view today) {
    const auto date = date_from(today);
    if (!athlete.birth_year || !date) return std::nullopt;
    const int year = static_cast<int>(std::chrono::year_month_day(*date).year()), born = *athlete.birth_year;
    if (born <= year && year - born <= oldest_years) return std::nullopt;
    return unsound(
        Unsound::Of::birth_year,
        born > year ? fmt::format("the birth year {} is still to come", born)
                    : fmt::format("by the birth year {} {} would be {} years old", born, shown(athlete), year - born),
        fmt::format("give the year of birth as four digits, {} at most, or leave it away", year));
}

}  // namespace

std::optional<Unsound> unsound_today(const Athlete& athlete, std::string_view today) {
    if (auto wrong = unsound_year(athlete, today)) return wrong;
    const auto later = [&](const std::string& day) { return date_from(day) && day > today; };
    const std::string to_come = fmt::format("give the day on which it was given, {} at the latest", today);
    if (athlete.consent && later(athlete.consent->on))
        return unsound(Unsound::Of::consent_on,
                       fmt::format("the consent of {} is of a day to come, {}", shown(athlete), athlete.consent->on),
                       to_come);
    if (later(athlete.consent_share_on))
        return unsound(
            Unsound::Of::consent_share_on,
            fmt::format("the yes to sharing of {} is of a day to come, {}", shown(athlete), athlete.consent_share_on),
            to_come);
    if (is_childs_own_yes(athlete))
        return unsound(Unsound::Of::consent_by,
                       fmt::format("{} is under {}, and the yes is {}'s own (\"{}\")", shown(athlete),
                                   guardian_until_years, shown(athlete), athlete.consent->by),
                       "ask a parent or guardian, then say by whom: \"guardian\"; until then give no consent");
    return std::nullopt;
}

}  // namespace breakstep
