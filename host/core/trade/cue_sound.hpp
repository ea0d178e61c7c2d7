// The sounds of a drill, by use. A value; any thread.
#pragma once

#include <cstdint>

namespace breakstep {

/// Cues: the opponent's foot leaves the floor (a feint too), crosses the hip line coming down, touches down. Results:
/// good, bad, held back well. Then the count of three lamps and the end of a set; and the neutral click of a contact.
enum class CueSound : std::uint8_t { toe_off, hip_crossing, touchdown, good, bad, held_back, count, set_end, click };

}  // namespace breakstep
