// The sounds themselves, decoded and ready: one mono wave per use, 48,000 samples a second.
//
// load_sounds() reads a manifest and its WAV files (any rate, width or channels that SDL can convert); it runs before
// the audio starts, on any thread. Values afterwards, read by the audio callback without a lock. Errors: no manifest,
// an unknown key or use, a use missing, a file that is no sound, leading silence longer than the manifest allows.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/error.hpp"
#include "core/trade/cue_sound.hpp"

namespace breakstep {

/// Those that come with breakstep, and those that only a coach's recording brings.
inline constexpr std::size_t cue_sound_count = 9, recorded_word_count = 10;

[[nodiscard]] std::string_view word(CueSound sound);
[[nodiscard]] std::optional<CueSound> cue_sound_from_word(std::string_view text);

struct SoundSet {
    /// By CueSound, in samples of -32768..32767 with its level applied; the first cue_sound_count not empty.
    std::array<std::vector<std::int16_t>, cue_sound_count + recorded_word_count> waves;

    /// The words that were recorded.
    [[nodiscard]] RecordedWords words() const;
    [[nodiscard]] const std::vector<std::int16_t>& wave(CueSound sound) const {
        return waves[static_cast<std::size_t>(sound)];
    }
};

/// `directory` holds manifest.toml and the files it names.
[[nodiscard]] Expected<SoundSet> load_sounds(const std::string& directory);
/// Any WAV that SDL reads, as mono at 48 kHz.
[[nodiscard]] Expected<std::vector<std::int16_t>> read_wave(const std::string& path);
/// Samples before the first that can be heard.
[[nodiscard]] std::size_t silence_before(const std::vector<std::int16_t>& wave);

}  // namespace breakstep
