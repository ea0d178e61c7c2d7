// Whether the store takes a value, asked before anything is written: so that a whole file can be judged first. Pure;
// any thread. Both fail (bad_input) with the reason.
#pragma once

#include "core/error.hpp"
#include "store/store_rows.hpp"

namespace breakstep {

[[nodiscard]] Expected<void> usable(const Athlete& athlete);
[[nodiscard]] Expected<void> usable(const Measure& measure);

}  // namespace breakstep
