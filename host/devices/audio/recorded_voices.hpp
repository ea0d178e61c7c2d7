// A coach's own voice: a folder of WAV files, each named after the sound whose place it takes.
//
// good, bad, held_back and set_end take the place of those that come with breakstep; on_time, clash, early, late,
// missed, held, feint, hit, again and drop are words that nothing else says. The cues of an attack and the count stay
// as they are: when they begin is measured, and a voice begins nowhere sharply. Silence before a word is cut off. Any
// thread, before the audio starts. What can't be used is told, a line each, and the sound stays as it was.
#pragma once

#include <string>
#include <vector>

#include "devices/audio/sound_set.hpp"

namespace breakstep {

/// Longer than this a word would run into the next attack.
inline constexpr int longest_word_ms = 1500;

/// Puts into `sounds` what stands in the folder; gives what could not be used, and why. No folder is one such line.
[[nodiscard]] std::vector<Error> add_recorded_voices(const std::string& folder, SoundSet& sounds);

}  // namespace breakstep
