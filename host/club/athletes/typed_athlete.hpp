// From texts, typed or in a file, to an athlete. take_typed() is pure, for any thread; the others ask this computer for
// today, and changed_athlete() writes: main thread, failing as the store does too.
#pragma once

#include <optional>
#include <string>

#include "core/error.hpp"
#include "store/store.hpp"
#include "store/store_rows.hpp"

namespace breakstep {

/// What was typed about an athlete: null where nothing was typed, "" to take something away.
struct TypedAthlete {
    std::optional<std::string> call_sign, real_name, grade, lead, height_band, birth_year, group, notes, rung;
    std::optional<std::string> consent_on, consent_by, consent_until, consent_refused_on, consent_share_on;
    bool no_consent = false;  ///< refused or withdrawn, today
    bool operator==(const TypedAthlete&) const = default;
};

/// Puts what was typed into the athlete; what was not typed stays. Fails (bad_input) with the reason: a call-sign that
/// is empty, a lead side or a birth year that is none, a consent with a part missing.
[[nodiscard]] Expected<void> take_typed(const TypedAthlete& typed, Athlete& athlete);

/// A new athlete with an id, not yet in any store. Fails too for what can't be so today (club/consent/sound_today.hpp).
[[nodiscard]] Expected<Athlete> new_athlete(TypedAthlete typed);
/// The athlete whom `named` finds (athlete_typed()), changed in the store. Fails as new_athlete().
[[nodiscard]] Expected<Athlete> changed_athlete(Store& store, const std::string& named, TypedAthlete typed);

}  // namespace breakstep
