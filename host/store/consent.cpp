#include "store/consent.hpp"

#include <algorithm>
#include <chrono>
#include <iterator>

#include "core/iso_date.hpp"
#include "store/call_sign.hpp"

namespace breakstep {

std::string_view word(ConsentState state) {
    switch (state) {
        case ConsentState::given:
            return "given";
        case ConsentState::expired:
            return "expired";
        case ConsentState::refused:
            return "refused";
        case ConsentState::not_asked:
            break;
    }
    return "not asked";
}

ConsentState consent_state(const Athlete& athlete, std::string_view today) {
    if (!athlete.consent_refused_on.empty()) return ConsentState::refused;
    if (!athlete.consent) return ConsentState::not_asked;
    // ISO dates are in order as texts. A yes of a day to come is none yet.
    if (athlete.consent->on > today || is_childs_own_yes(athlete)) return ConsentState::not_asked;
    return !athlete.consent->until.empty() && athlete.consent->until < today ? ConsentState::expired
                                                                             : ConsentState::given;
}

bool guardian_answers(const Athlete& athlete, std::string_view today) {
    const auto date = date_from(today);
    if (!date || !athlete.birth_year) return false;
    const auto year = static_cast<int>(std::chrono::year_month_day(*date).year());
    return year - *athlete.birth_year < guardian_until_years;
}

bool is_childs_own_yes(const Athlete& athlete) {
    if (!athlete.consent || !guardian_answers(athlete, athlete.consent->on)) return false;
    const std::string by = call_sign_key(athlete.consent->by);
    const auto is = [&by](std::string_view name) { return !name.empty() && by == call_sign_key(name); };
    if (is(athlete.call_sign) || is(athlete.real_name)) return true;
    constexpr std::string_view themselves[] = {"the athlete", "athlete", "self",     "myself",
                                               "himself",     "herself", "themself", "themselves"};
    return std::any_of(std::begin(themselves), std::end(themselves), is);
}

bool may_keep(const Athlete& athlete, std::string_view today) {
    const ConsentState state = consent_state(athlete, today);
    if (state == ConsentState::not_asked) return !guardian_answers(athlete, today);
    return state == ConsentState::given;
}

bool may_share(const Athlete& athlete, std::string_view today) {
    return consent_state(athlete, today) == ConsentState::given && !athlete.consent_share_on.empty() &&
           athlete.consent_share_on <= today;
}

bool ends_this_month(const Athlete& athlete, std::string_view today) {
    return consent_state(athlete, today) == ConsentState::given &&
           std::string_view(athlete.consent->until).substr(0, 7) == today.substr(0, 7);
}

}  // namespace breakstep
