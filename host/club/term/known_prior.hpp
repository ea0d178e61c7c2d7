// What earlier sessions of an athlete teach the reading, fixed before a session begins (so its promise stands).
// Main thread; reads the store.
#pragma once

#include <string>

#include "core/error.hpp"
#include "store/store.hpp"

namespace breakstep {

/// From the undisturbed intervals between entries in the athlete's last sessions; "" for a stranger.
[[nodiscard]] Expected<std::string> known_prior(const Store& store, AthleteId athlete);

}  // namespace breakstep
