// How long before toe-off a strike may count for a lift at most: what comes sooner was struck in the wait, and is no
// answer.
#pragma once

#include "core/time.hpp"

namespace breakstep {

inline constexpr Duration lead_longest = 300ms;

}  // namespace breakstep
