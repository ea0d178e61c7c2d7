#include "sounds/recipes.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>

namespace breakstep::sounds {
namespace {

constexpr double attack_ms = 0.5;   // short enough to have no lag, long enough not to be a bare click
constexpr double release_ms = 4.0;  // so that a sound does not end in a click

/// sin(2 pi turns), by its Taylor series around the nearest zero crossing: library sines differ in their last bit from
/// one machine to the next, and a test compares files to the byte.
double sine(double turns) {
    double x = turns - std::floor(turns + 0.5);  // -0.5 .. 0.5
    if (x > 0.25) x = 0.5 - x;
    if (x < -0.25) x = -0.5 - x;
    const double angle = x * 6.283185307179586476925286766559;
    const double square = angle * angle;
    double sum = 1.0;
    for (int k = 15; k >= 3; k -= 2) sum = 1.0 - square / (k * (k - 1)) * sum;
    return angle * sum;
}

/// 2^-x for x >= 0, by the same reasoning without a library function.
double halvings(double x) {
    double whole = 1.0;
    for (; x >= 1.0; x -= 1.0) whole *= 0.5;
    const double exponent = -x * 0.69314718055994530941723212145818;
    double sum = 1.0;
    for (int k = 14; k >= 1; --k) sum = 1.0 + exponent / k * sum;
    return whole * sum;
}

double envelope(const Tone& tone, double at_ms) {
    const double attack = std::min(1.0, (at_ms + 1000.0 / samples_per_second) / attack_ms);
    const double release = std::min(1.0, (tone.length_ms - at_ms) / release_ms);
    return attack * release * halvings(at_ms / tone.half_life_ms);
}

void add(std::vector<double>& wave, const Tone& tone) {
    const auto first = static_cast<std::size_t>(tone.begin_ms * samples_per_second / 1000.0);
    const auto count = static_cast<std::size_t>(tone.length_ms * samples_per_second / 1000.0);
    for (std::size_t i = 0; i < count && first + i < wave.size(); ++i) {
        const double seconds = static_cast<double>(i) / samples_per_second;
        const double glide = (tone.pitch_end_hz - tone.pitch_hz) / (tone.length_ms / 1000.0);
        const double turns = tone.pitch_hz * seconds + glide * seconds * seconds / 2;
        double sum = 0;
        // The first partial starts at its crest, so that nothing is lost before it is heard; the others a little apart
        // from it, so that their crests don't add up to one needle and the sound is louder for its peak.
        for (std::size_t k = 0; k < tone.partials.size(); ++k) {
            const auto partial = static_cast<double>(k);
            sum += tone.partials[k] * sine(turns * (partial + 1) + 0.25 + 0.19 * partial * partial);
        }
        wave[first + i] += sum * envelope(tone, seconds * 1000.0);
    }
}

void little_endian(std::string& out, std::uint32_t value, int bytes) {
    for (int i = 0; i < bytes; ++i) out.push_back(static_cast<char>((value >> (8 * i)) & 0xFFU));
}

std::vector<Recipe> make_recipes() {
    const std::vector<double> bell{1.0, 0.35, 0.0, 0.12};
    const std::vector<double> reed{0.7, 0.0, 1.0, 0.0, 0.8, 0.0, 0.45};
    const std::vector<double> wood{0.9, 0.7, 1.0, 0.5, 0.35};
    const std::vector<double> glass{0.5, 1.0, 0.0, 0.25};
    return {
        {"toe_off",
         "toe_off.wav",
         "one bright tone that rises: the foot leaves the floor, in a feint too",
         0.595,
         90,
         {{0, 90, 1150, 1900, 45, bell}}},
        {"hip_crossing",
         "hip_crossing.wav",
         "two dry ticks: the leg comes down through the hip line",
         0.745,
         90,
         {{0, 34, 1568, 1568, 14, wood}, {44, 46, 1568, 1568, 14, wood}}},
        {"touchdown",
         "touchdown.wav",
         "one low knock: the foot is on the floor again",
         0.735,
         130,
         {{0, 130, 440, 360, 45, wood}}},
        {"good",
         "good.wav",
         "two notes going up",
         0.465,
         240,
         {{0, 90, 784, 784, 60, bell}, {90, 150, 1175, 1175, 60, bell}}},
        {"bad",
         "bad.wav",
         "two reedy notes going down",
         0.605,
         240,
         {{0, 90, 330, 330, 90, reed}, {100, 140, 220, 220, 90, reed}}},
        {"held_back",
         "held_back.wav",
         "three quick high notes on one pitch",
         0.555,
         230,
         {{0, 70, 1047, 1047, 30, glass}, {80, 70, 1047, 1047, 30, glass}, {160, 70, 1047, 1047, 30, glass}}},
        {"count",
         "count.wav",
         "one round level note, once for each of the three lamps",
         0.8,
         140,
         {{0, 140, 587, 587, 50, {1.0, 0.5, 0.25}}}},
        {"set_end",
         "set_end.wav",
         "three notes going down to a long one",
         0.485,
         250,
         {{0, 50, 1175, 1175, 40, bell}, {50, 50, 880, 880, 40, bell}, {100, 150, 587, 587, 60, bell}}},
        {"click",
         "click.wav",
         "one short dry tap, the same for every contact",
         0.75,
         62,
         {{0, 62, 2093, 2093, 20, bell}}},
    };
}

}  // namespace

const std::vector<Recipe>& recipes() {
    static const std::vector<Recipe> all = make_recipes();
    return all;
}

std::vector<std::int16_t> samples_of(const Recipe& recipe) {
    std::vector<double> wave(static_cast<std::size_t>(recipe.length_ms * samples_per_second / 1000.0), 0.0);
    for (const Tone& tone : recipe.tones) add(wave, tone);
    double highest = 0;
    for (const double value : wave) highest = std::max(highest, value < 0 ? -value : value);
    std::vector<std::int16_t> samples;
    samples.reserve(wave.size());
    for (const double value : wave)
        samples.push_back(static_cast<std::int16_t>(std::floor(value / highest * recipe.peak * 32767.0 + 0.5)));
    return samples;
}

std::string wav_file(const std::vector<std::int16_t>& samples) {
    const auto bytes = static_cast<std::uint32_t>(samples.size() * 2);
    std::string out = "RIFF";
    little_endian(out, 36 + bytes, 4);
    out += "WAVEfmt ";
    little_endian(out, 16, 4);                      // length of the format chunk
    little_endian(out, 1, 2);                       // PCM
    little_endian(out, 1, 2);                       // channels
    little_endian(out, samples_per_second, 4);      // frames a second
    little_endian(out, samples_per_second * 2, 4);  // bytes a second
    little_endian(out, 2, 2);                       // bytes a frame
    little_endian(out, 16, 2);                      // bits a sample
    out += "data";
    little_endian(out, bytes, 4);
    for (const std::int16_t sample : samples) little_endian(out, static_cast<std::uint16_t>(sample), 2);
    return out;
}

std::string manifest() {
    std::string out =
        "# The sounds and what each is for. Made, with the files beside it, by sounds/make_sounds.cpp; ORIGIN.md says "
        "how.\n"
        "# Your own sound: put its file here and name it; WAV of any rate. `level` (0 to 1) makes it quieter.\n"
        "# `onset_ms` is the silence a file begins with; it counts as delay, so it must be 0.1 or less.\n";
    for (const Recipe& recipe : recipes()) {
        out += "\n# " + std::string(recipe.tells) + "\n[[sound]]\n";
        out += "use = \"" + std::string(recipe.use) + "\"\n";
        out += "file = \"" + std::string(recipe.file) + "\"\n";
        out += "level = 1.0\nonset_ms = 0.0\n";
    }
    return out;
}

}  // namespace breakstep::sounds
