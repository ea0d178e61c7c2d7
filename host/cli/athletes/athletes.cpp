// athletes list, add, change.
#include <fmt/format.h>

#include <algorithm>
#include <functional>
#include <iostream>

#include "cli/athletes/shared.hpp"
#include "club/athletes/athletes_json.hpp"
#include "club/athletes/naming.hpp"
#include "club/athletes/typed_athlete.hpp"
#include "club/consent/consent_words.hpp"
#include "club/opponents/copied_opponent.hpp"
#include "club/opponents/kept_copies.hpp"
#include "core/error.hpp"
#include "devices/simulated/athlete_profile.hpp"
#include "store/text_rules.hpp"

namespace breakstep {
namespace {

// At most `width` characters, so that a table stays one; the whole text is in --json.
std::string shortened(const std::string& text, std::size_t width) {
    if (characters_in(text) <= width) return text;
    std::size_t characters = 0, at = 0;
    for (; at < text.size(); ++at) {
        const bool begins = (static_cast<unsigned char>(text[at]) & 0xC0U) != 0x80U;
        if (begins && ++characters == width) break;
    }
    return text.substr(0, at) + "…";
}

std::string consent_text(const Athlete& athlete, const std::string& today) {
    switch (consent_state(athlete, today)) {
        case ConsentState::refused:
            return "NO since " + athlete.consent_refused_on;
        case ConsentState::not_asked:
            return guardian_answers(athlete, today) ? "NOT ASKED" : "not asked";
        case ConsentState::expired:
            return "EXPIRED " + athlete.consent->until;
        case ConsentState::given:
            break;
    }
    return athlete.consent->until.empty() ? "since " + athlete.consent->on : "until " + athlete.consent->until;
}

// Names, at most a dozen of them.
std::string names_of(const std::vector<Athlete>& athletes, const std::function<bool(const Athlete&)>& is_meant) {
    constexpr std::size_t names_max = 12;
    std::string names;
    std::size_t count = 0;
    for (const Athlete& athlete : athletes)
        if (is_meant(athlete) && ++count <= names_max)
            names += (names.empty() ? "" : ", ") + shortened(shown(athlete), 24);
    return count > names_max ? fmt::format("{} and {} more", names, count - names_max) : names;
}

void print_consents(const std::vector<Athlete>& athletes, const std::string& today) {
    const auto print = [&](const char* said, const std::function<bool(const Athlete&)>& is_meant) {
        if (const std::string names = names_of(athletes, is_meant); !names.empty())
            std::cout << '\n' << said << ": " << names << '\n';
    };
    const auto in_state = [&](ConsentState state, bool kept) {
        return [=](const Athlete& athlete) {
            return consent_state(athlete, today) == state && may_keep(athlete, today) == kept;
        };
    };
    print("consent ends this month", [&](const Athlete& athlete) { return ends_this_month(athlete, today); });
    print("consent has run out", in_state(ConsentState::expired, false));
    print("consent was refused or withdrawn", in_state(ConsentState::refused, false));
    print("not asked, and too young to be kept without a guardian's yes", in_state(ConsentState::not_asked, false));
    print("not asked", in_state(ConsentState::not_asked, true));
    if (!names_of(athletes, [&](const Athlete& athlete) { return !may_keep(athlete, today); }).empty())
        std::cout
            << "\nOf those who gave no consent results are for one evening only, and nothing is shown: `breakstep "
               "athletes change NAME --consent-on DATE --consent-by WHOM` once they do.\n";
}

void print_athletes(const std::vector<Athlete>& athletes, const std::string& today) {
    constexpr const char* row = "{:<24}  {:<14}  {:<5}  {:<12}  {:<5}  {:<16}  {}\n";
    std::cout << fmt::format(row, "call-sign", "grade", "lead", "height", "born", "group", "consent");
    for (const Athlete& athlete : athletes)
        std::cout << fmt::format(row, shortened(shown(athlete), 24), shortened(athlete.grade, 14), word(athlete.lead),
                                 shortened(athlete.height_band, 12),
                                 athlete.birth_year ? std::to_string(*athlete.birth_year) : "",
                                 shortened(athlete.group, 16), consent_text(athlete, today));
    print_consents(athletes, today);
    if (athletes.empty()) std::cout << "no athletes yet: `breakstep athletes add CALL-SIGN`\n";
}

// A no is for what comes.
void tell_what_stays(const Athlete& athlete) {
    std::cerr << "From now on " << shown_text(shown(athlete))
              << "'s results are for one evening only. What was kept before, with consent, stays in the store until "
                 "it is erased: `breakstep athletes erase "
              << shell_word(shown(athlete)) << " --yes`.\n";
}

// A copy goes with the yes it was made with; and it bears the name.
Expected<void> forget_outdated_copies(const Athlete& athlete, const std::string& called_before) {
    const bool ended = !agrees_to_a_copy(athlete, today_here(), find_athlete(athlete.call_sign).has_value());
    if (!ended && athlete.call_sign == called_before) return {};
    const auto gone = delete_copies([&](const KeptCopy& copy) { return copy.partner == athlete.id; });
    if (!gone) return tl::make_unexpected(gone.error());
    for (const KeptCopy& copy : *gone)
        if (ended)
            std::cerr << "deleted: the copy " << shown_text(copy.path.string()) << ", since the yes has ended\n";
        else
            std::cerr << "deleted: the copy " << shown_text(copy.path.string())
                      << ", which bears the call-sign of before; make it anew: `breakstep opponents copy "
                      << shell_word(shown(athlete)) << "`\n";
    return {};
}

int told(const Athlete& athlete, const char* what, bool json) {
    if (json)
        std::cout << athletes_json({athlete}, local_date(unix_now()));
    else
        std::cout << shown(athlete) << ' ' << what << '\n';
    return exit_done;
}

}  // namespace

int list_athletes(const KeepingOptions& options) {
    return with_store(options.common, StoreMode::read_only, [&](Store& store) {
        const auto athletes = store.athletes();
        if (!athletes) return complain(athletes.error());
        const std::string today = local_date(unix_now());
        if (options.common.json)
            std::cout << athletes_json(*athletes, today, options.with_names ? Names::real : Names::call_signs_alone);
        else
            print_athletes(*athletes, today);
        return static_cast<int>(exit_done);
    });
}

int add_athlete(const KeepingOptions& options) {
    TypedAthlete typed = options.typed;
    typed.call_sign = options.call_sign;
    const auto athlete = new_athlete(typed);
    if (!athlete) return complain(athlete.error());
    return with_store(options.common, StoreMode::inline_writes, [&](Store& store) {
        if (const auto added = store.add_athlete(*athlete); !added) return complain(added.error());
        return told(*athlete, "added", options.common.json);
    });
}

int change_athlete(const KeepingOptions& options) {
    if (options.typed == TypedAthlete{})
        return complain({ErrorKind::bad_input, "nothing to change was said", "see `breakstep athletes change --help`"});
    return with_store_there(options.common, StoreMode::inline_writes, [&](Store& store) {
        const auto before = athlete_typed(store, options.call_sign);
        const auto athlete = changed_athlete(store, options.call_sign, options.typed);
        if (!athlete) return complain(athlete.error());
        if (const auto gone = forget_outdated_copies(*athlete, before ? before->call_sign : ""); !gone)
            return complain(gone.error());
        if (options.typed.no_consent) tell_what_stays(*athlete);
        return told(*athlete, "changed", options.common.json);
    });
}

}  // namespace breakstep
