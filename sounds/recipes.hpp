// The recipes of the sounds: what each is made of, and the samples that come out.
//
// Pure and deterministic: only + - * / on doubles and a sine of our own, so that every machine makes the same bytes.
// Any thread; never fails.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace breakstep::sounds {

inline constexpr int samples_per_second = 48'000;

/// One tone: partials of a pitch that may glide, struck at once and dying away.
struct Tone {
    double begin_ms;
    double length_ms;
    double pitch_hz;
    double pitch_end_hz;           ///< the pitch glides there evenly; the same as pitch_hz for a level tone
    double half_life_ms;           ///< the loudness halves in this time
    std::vector<double> partials;  ///< strength of 1st, 2nd, 3rd ... partial
};

struct Recipe {
    std::string_view use;  ///< as in the manifest
    std::string_view file;
    std::string_view tells;  ///< one line for the manifest
    double peak;             ///< of full scale, chosen so that the sounds are about equally loud
    double length_ms;
    std::vector<Tone> tones;
};

[[nodiscard]] const std::vector<Recipe>& recipes();

[[nodiscard]] std::vector<std::int16_t> samples_of(const Recipe& recipe);

/// A whole WAV file: RIFF, PCM, one channel, 16 bits, little-endian.
[[nodiscard]] std::string wav_file(const std::vector<std::int16_t>& samples);

/// The manifest that goes with the files.
[[nodiscard]] std::string manifest();

}  // namespace breakstep::sounds
