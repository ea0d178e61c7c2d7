// Erasing an athlete with everything that is known to hold it: the store, its own copies, the reports and captures that
// are the athlete's alone. What else holds the athlete is named.
//
// Main thread. Fails as the store does; the store itself comes last, so that the same again finds what a run that was
// cut off left.
#pragma once

#include "club/athletes/athletes_json.hpp"
#include "store/store.hpp"

namespace breakstep {

/// What would be erased, counted before anything is.
[[nodiscard]] Expected<EraseReport> what_erasing_takes(const Store& store, const Athlete& athlete);
/// Moves the copies that belong to the store from `report.copies` to `report.also_erased_from`.
[[nodiscard]] Expected<void> erase_with_copies(Store& store, const Athlete& athlete, EraseReport& report);

}  // namespace breakstep
