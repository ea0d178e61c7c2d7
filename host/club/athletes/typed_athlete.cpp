#include "club/athletes/typed_athlete.hpp"

#include <fmt/format.h>

#include <charconv>

#include "club/athletes/naming.hpp"
#include "club/consent/consent_words.hpp"
#include "club/consent/sound_today.hpp"
#include "club/csv/csv.hpp"
#include "store/id_source.hpp"

namespace breakstep {
namespace {

Expected<std::optional<std::int32_t>> birth_year_from(const std::string& typed) {
    const std::string text = trimmed(typed);
    if (text.empty()) return std::optional<std::int32_t>();
    std::int32_t year = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), year);
    if (error == std::errc() && end == text.data() + text.size()) return std::optional(year);
    return failure(ErrorKind::bad_input, fmt::format("the birth year \"{}\" is not a year", text),
                   "give it as four digits, or leave it away");
}

// "4", or "" to take it back. The day is put in by whoever knows today.
Expected<void> take_rung(const std::string& typed, Athlete& athlete) {
    const std::string text = trimmed(typed);
    athlete.placed_rung.reset();
    athlete.placed_on.clear();
    if (text.empty()) return {};
    if (text.size() != 1 || text[0] < '1' || text[0] > '9')
        return failure(ErrorKind::bad_input, fmt::format("the rung \"{}\" is none", text),
                       "give 1 to 9, or \"\" to let the ladder say by itself");
    athlete.placed_rung = text[0] - '0';
    return {};
}

Expected<void> take_consent(const TypedAthlete& typed, Athlete& athlete) {
    if (typed.consent_refused_on) athlete.consent_refused_on = trimmed(*typed.consent_refused_on);
    if (typed.no_consent) {
        if (typed.consent_on || typed.consent_by || typed.consent_until || typed.consent_share_on)
            return failure(ErrorKind::bad_input, "consent was given and refused at once",
                           "say --no-consent, or when and by whom it was given");
        athlete.consent.reset();
        athlete.consent_share_on.clear();
        return {};
    }
    if (typed.consent_share_on) athlete.consent_share_on = trimmed(*typed.consent_share_on);
    if (!typed.consent_on && !typed.consent_by && !typed.consent_until) return {};
    // A yes after a no.
    if (!typed.consent_refused_on) athlete.consent_refused_on.clear();
    Consent consent = athlete.consent.value_or(Consent{});
    if (typed.consent_on) consent.on = trimmed(*typed.consent_on);
    if (typed.consent_by) consent.by = trimmed(*typed.consent_by);
    if (typed.consent_until) consent.until = trimmed(*typed.consent_until);
    if (consent == Consent{}) {
        athlete.consent.reset();
        if (!typed.consent_share_on) athlete.consent_share_on.clear();
    } else {
        athlete.consent = consent;
    }
    return {};
}

}  // namespace

Expected<void> take_typed(const TypedAthlete& typed, Athlete& athlete) {
    const auto take = [](const std::optional<std::string>& from, std::string& to) {
        if (from) to = trimmed(*from);
    };
    take(typed.call_sign, athlete.call_sign);
    if (typed.call_sign && athlete.call_sign.empty())
        return failure(ErrorKind::bad_input, "the call-sign is empty", "give at least one character");
    take(typed.real_name, athlete.real_name);
    take(typed.grade, athlete.grade);
    take(typed.height_band, athlete.height_band);
    take(typed.group, athlete.group);
    if (typed.notes) athlete.notes = *typed.notes;
    if (typed.lead) {
        const auto side = from_word<Side>(folded(trimmed(*typed.lead)));
        if (!side)
            return failure(ErrorKind::bad_input, fmt::format("the lead side \"{}\" is none", *typed.lead),
                           "say left or right");
        athlete.lead = *side;
    }
    if (typed.birth_year) {
        const auto year = birth_year_from(*typed.birth_year);
        if (!year) return tl::make_unexpected(year.error());
        athlete.birth_year = *year;
    }
    if (typed.rung)
        if (const auto placed = take_rung(*typed.rung, athlete); !placed) return placed;
    return take_consent(typed, athlete);
}

namespace {

// A no that has no date is of today.
Expected<void> take_today(TypedAthlete& typed, Athlete& athlete) {
    if (typed.no_consent) typed.consent_refused_on = today_here();
    if (auto taken = take_typed(typed, athlete); !taken) return taken;
    if (typed.rung && athlete.placed_rung) athlete.placed_on = today_here();
    // Of what was said now: another change of somebody kept long ago is not the place to ask.
    const bool said =
        typed.birth_year || typed.consent_on || typed.consent_by || typed.consent_until || typed.consent_share_on;
    if (!said) return {};
    if (auto wrong = unsound_today(athlete, today_here())) return tl::make_unexpected(std::move(wrong->error));
    return {};
}

}  // namespace

Expected<Athlete> new_athlete(TypedAthlete typed) {
    Athlete athlete;
    if (const auto taken = take_today(typed, athlete); !taken) return tl::make_unexpected(taken.error());
    athlete.id = AthleteId{IdSource(std::nullopt).next()};
    athlete.added_unix_seconds = unix_now();
    return athlete;
}

Expected<Athlete> changed_athlete(Store& store, const std::string& named, TypedAthlete typed) {
    auto athlete = athlete_typed(store, named);
    if (!athlete) return athlete;
    const auto changed = take_today(typed, *athlete).and_then([&] { return store.change_athlete(*athlete); });
    if (!changed) return tl::make_unexpected(changed.error());
    return athlete;
}

}  // namespace breakstep
