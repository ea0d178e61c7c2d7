// Where an athlete's level stood when they last left a drill whose level follows them: their next session of it begins
// there, in training alone. Main thread; fails as the store does.
#pragma once

#include <map>
#include <string>

#include "core/error.hpp"
#include "core/journal/session_events.hpp"
#include "store/store.hpp"

namespace breakstep {

struct LastLevel {
    double window = 1, pace = 1;
    bool operator==(const LastLevel&) const = default;
};

/// By the drill's name, of the newest session of each that is no test; none of a drill whose level does not follow, or
/// in which no set came after the first.
[[nodiscard]] Expected<std::map<std::string, LastLevel>> last_levels(const Store& store, AthleteId athlete);

/// Puts it into a session that is about to begin.
void begin_at(const std::map<std::string, LastLevel>& levels, SessionBegan& began);

}  // namespace breakstep
