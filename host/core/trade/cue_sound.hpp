// The sounds of a drill, by use. A value; any thread.
#pragma once

#include <cstdint>

namespace breakstep {

/// Cues: the opponent's foot leaves the floor (a feint too), crosses the hip line coming down, touches down. Results:
/// good, bad, held back well. Then the count of three lamps and the end of a set; and the neutral click of a contact.
enum class CueSound : std::uint8_t {
    toe_off,
    hip_crossing,
    touchdown,
    good,
    bad,
    held_back,
    count,
    set_end,
    click,
    // Ten words, each only where the coach recorded it. Results, in place of good, bad and held back; a rep that is
    // given again; and the drop, where a set asks for nothing else, before it starts.
    word_on_time,
    word_clash,
    word_early,
    word_late,
    word_missed,
    word_held,
    word_feint,
    word_hit,
    word_again,
    word_drop
};

/// Bit i: the word of CueSound word_on_time + i was recorded.
using RecordedWords = std::uint16_t;
[[nodiscard]] constexpr RecordedWords word_bit(CueSound sound) {
    return static_cast<RecordedWords>(
        1U << (static_cast<unsigned>(sound) - static_cast<unsigned>(CueSound::word_on_time)));
}

}  // namespace breakstep
