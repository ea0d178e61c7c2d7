// From texts, typed or in a file, to an athlete. Pure; any thread.
#pragma once

#include <optional>
#include <string>

#include "core/error.hpp"
#include "store/store.hpp"
#include "store/store_rows.hpp"

namespace breakstep {

/// What was typed about an athlete: null where nothing was typed, "" to take something away.
struct TypedAthlete {
    std::optional<std::string> call_sign, real_name, grade, lead, height_band, birth_year, group, notes;
    std::optional<std::string> consent_on, consent_by, consent_until, consent_refused_on, consent_share_on;
    bool no_consent = false;  ///< refused or withdrawn, today
    bool operator==(const TypedAthlete&) const = default;
};

/// Puts what was typed into the athlete; what was not typed stays. Fails (bad_input) with the reason: a call-sign that
/// is empty, a lead side or a birth year that is none, a consent with a part missing.
[[nodiscard]] Expected<void> take_typed(const TypedAthlete& typed, Athlete& athlete);

}  // namespace breakstep
