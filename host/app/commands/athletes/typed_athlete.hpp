// From texts, typed or in a file, to an athlete. Pure; any thread.
#pragma once

#include "app/commands/athletes/keeping.hpp"
#include "store/store_rows.hpp"

namespace breakstep {

/// Puts what was typed into the athlete; what was not typed stays. Fails (bad_input) with the reason: a call-sign that
/// is empty, a lead side or a birth year that is none, a consent with a part missing.
[[nodiscard]] Expected<void> take_typed(const TypedAthlete& typed, Athlete& athlete);

}  // namespace breakstep
