// The files in sounds/: made by the program beside them, complete, prompt, distinct, and equally loud.
#include <doctest/doctest.h>

#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>

#include "devices/audio/sound_set.hpp"
#include "places.hpp"
#include "sounds/recipes.hpp"
#include "unit/audio/loudness.hpp"

using namespace breakstep;

namespace {

const std::string sounds_folder = BREAKSTEP_SOURCE_DIR "/sounds";

std::string bytes_of(const std::string& path) {
    std::ifstream file(path, std::ios::binary);
    std::ostringstream text;
    text << file.rdbuf();
    return text.str();
}

/// A folder of our own with a copy of the sounds, gone afterwards.
struct Copy {
    std::filesystem::path folder;
    Copy() {
        std::string name = (std::filesystem::temp_directory_path() / "breakstep-sounds-XXXXXX").string();
        REQUIRE(mkdtemp(name.data()) != nullptr);
        folder = name;
        for (const auto& file : std::filesystem::directory_iterator(sounds_folder))
            if (file.path().extension() == ".wav" || file.path().extension() == ".toml")
                std::filesystem::copy_file(file.path(), folder / file.path().filename());
    }
    ~Copy() { std::filesystem::remove_all(folder); }

    void write(const std::string& name, const std::string& bytes) const {
        std::ofstream(folder / name, std::ios::binary) << bytes;
    }
    void replace_in_manifest(const std::string& from, const std::string& to) const {
        std::string text = bytes_of((folder / "manifest.toml").string());
        const auto at = text.find(from);
        REQUIRE(at != std::string::npos);
        write("manifest.toml", text.replace(at, from.size(), to));
    }
    [[nodiscard]] std::string complaint() const {
        const auto sounds = load_sounds(folder.string());
        return sounds ? std::string("none") : sounds.error().text();
    }
};

/// How many times a pitch crosses zero upwards in a second, over the samples given.
double rough_pitch(const std::vector<std::int16_t>& wave, std::size_t from, std::size_t to) {
    int crossings = 0;
    for (std::size_t i = from + 1; i < to; ++i) crossings += wave[i - 1] < 0 && wave[i] >= 0 ? 1 : 0;
    return crossings * 48000.0 / static_cast<double>(to - from);
}

}  // namespace

TEST_CASE("the checked-in sounds and manifest are what the program makes, to the byte") {
    CHECK(sounds::recipes().size() == cue_sound_count);
    for (const auto& recipe : sounds::recipes()) {
        CAPTURE(recipe.file);
        CHECK(bytes_of(sounds_folder + "/" + std::string(recipe.file)) == sounds::wav_file(sounds::samples_of(recipe)));
    }
    CHECK(bytes_of(sounds_folder + "/manifest.toml") == sounds::manifest());
}

TEST_CASE("every use has its sound, loaded as it was made") {
    const auto loaded = load_sounds(sounds_folder);
    REQUIRE(loaded);
    for (const auto& recipe : sounds::recipes()) {
        const auto use = cue_sound_from_word(recipe.use);
        REQUIRE(use);
        CHECK(word(*use) == recipe.use);
        CHECK(loaded->wave(*use) == sounds::samples_of(recipe));
    }
}

TEST_CASE("every sound starts at its first sample, lasts 60 to 250 ms, does not clip and ends softly") {
    const auto loaded = load_sounds(sounds_folder);
    REQUIRE(loaded);
    for (std::size_t i = 0; i < cue_sound_count; ++i) {
        const auto& wave = loaded->waves[i];
        CAPTURE(word(static_cast<CueSound>(i)));
        CHECK(std::abs(int{wave.front()}) > 327);  // 1 % of full scale
        CHECK(wave.size() >= 60 * 48);
        CHECK(wave.size() <= 250 * 48);
        int highest = 0;
        long sum = 0;
        for (const int sample : wave) {
            highest = std::max(highest, std::abs(sample));
            sum += sample;
        }
        CHECK(highest < 0.9 * 32767);
        CHECK(highest > 0.4 * 32767);
        CHECK(std::abs(static_cast<double>(sum) / static_cast<double>(wave.size())) <
              0.01 * 32767);  // no standing offset
        CHECK(std::abs(int{wave.back()}) < 327);
    }
}

TEST_CASE("the sound level meter of this test reads a full-scale tone right") {
    // A-weighting: 0 dB at 1 kHz, -8.6 dB at 250 Hz (IEC 61672-1, table of A-weighting; from memory).
    const auto tone = [](double pitch) {
        std::vector<std::int16_t> wave;
        for (int i = 0; i < 96'000; ++i)
            wave.push_back(static_cast<std::int16_t>(32767 * std::sin(6.283185307179586 * pitch * i / 48000)));
        return wave;
    };
    CHECK(loudness::highest_fast_level(tone(1000)) == doctest::Approx(0).epsilon(0.001).scale(100));
    CHECK(loudness::highest_fast_level(tone(250)) == doctest::Approx(-8.6).epsilon(0.02));
}

TEST_CASE("the sounds are equally loud to within 1 dB") {
    for (const auto& recipe : sounds::recipes()) {
        CAPTURE(recipe.use);
        const double level = loudness::highest_fast_level(sounds::samples_of(recipe));
        CHECK(level > -13.0);
        CHECK(level < -11.0);
    }
}

TEST_CASE("the three cues differ in pitch and in shape") {
    const auto loaded = load_sounds(sounds_folder);
    REQUIRE(loaded);
    const auto& toe_off = loaded->wave(CueSound::toe_off);
    const auto& hip = loaded->wave(CueSound::hip_crossing);
    const auto& touchdown = loaded->wave(CueSound::touchdown);
    CHECK(rough_pitch(toe_off, 0, 960) < 0.8 * rough_pitch(toe_off, toe_off.size() - 960, toe_off.size()));  // rises
    CHECK(rough_pitch(touchdown, 0, 960) < 0.8 * rough_pitch(hip, 0, 960));
    const auto strength = [](const auto& wave, double from_ms, double to_ms) {
        double sum = 0;
        for (auto i = static_cast<std::size_t>(from_ms * 48); i < static_cast<std::size_t>(to_ms * 48); ++i)
            sum += static_cast<double>(wave[i]) * wave[i];
        return sum / (to_ms - from_ms);
    };
    CHECK(strength(hip, 38, 44) < 0.1 * strength(hip, 44, 50));  // a hole, then the second tick
    CHECK(strength(touchdown, 38, 44) > strength(touchdown, 44, 50));
}

TEST_CASE("a manifest that can't be used is refused with its file, its line and what is wrong") {
    const Copy copy;
    CHECK(copy.complaint() == "none");

    SUBCASE("no such folder") {
        const auto sounds = load_sounds("/nowhere/at/all");
        REQUIRE_FALSE(sounds);
        CHECK(sounds.error().kind == ErrorKind::not_found);
        CHECK(sounds.error().text().find("/nowhere/at/all/manifest.toml") != std::string::npos);
    }
    SUBCASE("an unknown key") {
        copy.replace_in_manifest("level = 1.0", "volume = 1.0");
        CHECK(copy.complaint().find("unknown key volume") != std::string::npos);
        CHECK(copy.complaint().find("line 9") != std::string::npos);
    }
    SUBCASE("an unknown use") {
        copy.replace_in_manifest("\"touchdown\"", "\"applause\"");
        CHECK(copy.complaint().find("\"applause\" is no use of a sound") != std::string::npos);
    }
    SUBCASE("a level out of range") {
        copy.replace_in_manifest("level = 1.0", "level = 1.5");
        CHECK(copy.complaint().find("level must lie between 0 and 1") != std::string::npos);
    }
    SUBCASE("no TOML at all") {
        copy.write("manifest.toml", "sound = [[\n");
        CHECK(copy.complaint().find("manifest.toml line") != std::string::npos);
    }
    SUBCASE("a use without a sound") {
        copy.write("manifest.toml", "[[sound]]\nuse = \"good\"\nfile = \"good.wav\"\n");
        CHECK(copy.complaint().find("names no sound for toe_off") != std::string::npos);
    }
    SUBCASE("a missing file") {
        std::filesystem::remove(copy.folder / "good.wav");
        CHECK(copy.complaint().find("good.wav") != std::string::npos);
    }
    SUBCASE("a file that is no sound") {
        copy.write("good.wav", "not a wave");
        CHECK(copy.complaint().find("good.wav can't be used") != std::string::npos);
    }
    SUBCASE("a sound that begins with silence") {
        auto samples = sounds::samples_of(sounds::recipes()[0]);
        samples.insert(samples.begin(), 6, 0);  // 0.125 ms
        copy.write("toe_off.wav", sounds::wav_file(samples));
        CHECK(copy.complaint().find("begins with silence") != std::string::npos);
    }
}

TEST_CASE("a level makes a sound quieter") {
    const Copy copy;
    copy.replace_in_manifest("level = 1.0", "level = 0.5");  // the first is toe_off
    const auto sounds = load_sounds(copy.folder.string());
    REQUIRE(sounds);
    const auto whole = sounds::samples_of(sounds::recipes()[0]);
    const auto& half = sounds->wave(CueSound::toe_off);
    REQUIRE(half.size() == whole.size());
    for (std::size_t i = 0; i < half.size(); ++i) REQUIRE(half[i] == std::lround(whole[i] * 0.5));
}
