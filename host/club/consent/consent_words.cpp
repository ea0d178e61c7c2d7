#include "club/consent/consent_words.hpp"

#include <fmt/format.h>

#include "club/athletes/naming.hpp"
#include "store/text_rules.hpp"

namespace breakstep {
namespace {

constexpr std::size_t named_max = 12;

}  // namespace

std::string today_here() { return local_date(unix_now()); }

std::string why_not_kept(const Athlete& athlete, const std::string& today) {
    const std::string name = shown(athlete);
    switch (consent_state(athlete, today)) {
        case ConsentState::expired:
            return fmt::format("the consent to keep results of {} ran out after {}", name, athlete.consent->until);
        case ConsentState::refused:
            return fmt::format("consent to keep results of {} was refused or withdrawn on {}", name,
                               athlete.consent_refused_on);
        case ConsentState::not_asked:
            if (is_childs_own_yes(athlete))
                return fmt::format(
                    "the yes to keep results of {}, who is under {}, is {}'s own, and a guardian's is needed", name,
                    guardian_until_years, name);
            return fmt::format("nobody was asked yet for consent to keep results of {}, who is under {}", name,
                               guardian_until_years);
        case ConsentState::given:
            break;
    }
    return fmt::format("results of {} may be kept", name);
}

std::string how_to_renew(const Athlete& athlete, const std::string& today) {
    const bool guardian = guardian_answers(athlete, today);
    return fmt::format(
        "{}: `breakstep athletes change {} --consent-on {} --consent-by {}`",
        consent_state(athlete, today) == ConsentState::not_asked ? "with a guardian's yes" : "renew it with a new yes",
        shell_word(shown(athlete)), today, guardian ? "guardian" : "WHOM");
}

Error not_shown_error(const Athlete& athlete, const std::string& today) {
    return {ErrorKind::not_found, "nothing of " + shown(athlete) + " is shown: " + why_not_kept(athlete, today),
            how_to_renew(athlete, today) +
                "; what was kept before, with consent, is still in the store until `athletes erase` takes it out"};
}

std::string whose_consent_ends(const std::vector<Athlete>& athletes, const std::string& today) {
    std::string names;
    std::size_t count = 0;
    for (const Athlete& athlete : athletes)
        if (ends_this_month(athlete, today) && ++count <= named_max)
            names += fmt::format("{}{} ({})", names.empty() ? "" : ", ", shown(athlete), athlete.consent->until);
    if (count > named_max) names += fmt::format(" and {} more", count - named_max);
    return names.empty() ? "" : "Consent ends this month: " + names + ".";
}

Athlete with_real_name(Athlete athlete) {
    if (!athlete.real_name.empty()) athlete.call_sign = fmt::format("{} ({})", shown(athlete), athlete.real_name);
    return athlete;
}

}  // namespace breakstep
