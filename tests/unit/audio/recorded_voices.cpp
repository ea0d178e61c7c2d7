// A coach's own voice in place of tones: what is taken, what is refused and why, and that the rest stays.
#include "devices/audio/recorded_voices.hpp"

#include <doctest/doctest.h>

#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>
#include <system_error>
#include <vector>

#include "places.hpp"

using namespace breakstep;

namespace {

struct Folder {
    Folder() {
        std::string name = (std::filesystem::temp_directory_path() / "breakstep-voices-XXXXXX").string();
        REQUIRE(mkdtemp(name.data()) != nullptr);
        path = name;
    }
    ~Folder() {
        std::error_code ignored;
        std::filesystem::remove_all(path, ignored);
    }
    std::filesystem::path path;
};

void put(std::string& bytes, std::uint32_t value, int size) {
    for (int i = 0; i < size; ++i) bytes.push_back(static_cast<char>(value >> (8 * i) & 0xff));
}

/// A tone of 440 Hz behind some silence, as any recorder writes it: PCM, 16 bits, one channel.
void write_wav(const std::filesystem::path& path, int silence_ms, int tone_ms, std::uint32_t rate = 16'000) {
    std::string samples;
    const auto per_ms = rate / 1000;
    for (std::uint32_t i = 0; i < static_cast<std::uint32_t>(silence_ms) * per_ms; ++i) put(samples, 0, 2);
    for (std::uint32_t i = 0; i < static_cast<std::uint32_t>(tone_ms) * per_ms; ++i) {
        const double value = 12'000 * std::cos(2 * 3.14159265 * 440 * i / rate);
        put(samples, static_cast<std::uint32_t>(static_cast<std::int32_t>(value)), 2);
    }
    std::string bytes = "RIFF";
    put(bytes, static_cast<std::uint32_t>(36 + samples.size()), 4);
    bytes += "WAVEfmt ";
    put(bytes, 16, 4);
    put(bytes, 1, 2);
    put(bytes, 1, 2);
    put(bytes, rate, 4);
    put(bytes, 2 * rate, 4);
    put(bytes, 2, 2);
    put(bytes, 16, 2);
    bytes += "data";
    put(bytes, static_cast<std::uint32_t>(samples.size()), 4);
    std::ofstream(path, std::ios::binary) << bytes << samples;
}

SoundSet shipped() {
    auto sounds = load_sounds(std::string(BREAKSTEP_SOURCE_DIR) + "/sounds");
    REQUIRE(sounds.has_value());
    return *sounds;
}

bool says(const std::vector<Error>& unused, const std::string& file, const std::string& why) {
    for (const Error& error : unused)
        if (error.what.find(file) != std::string::npos && error.what.find(why) != std::string::npos) return true;
    return false;
}

}  // namespace

TEST_CASE("recorded words take their places, without the silence before them") {
    const Folder folder;
    write_wav(folder.path / "on_time.wav", 300, 400);
    write_wav(folder.path / "again.wav", 0, 250, 44'100);
    write_wav(folder.path / "good.wav", 50, 200);
    SoundSet sounds = shipped();
    const SoundSet before = sounds;
    CHECK(sounds.words() == 0);
    CHECK(add_recorded_voices(folder.path.string(), sounds).empty());
    CHECK(sounds.words() == (word_bit(CueSound::word_on_time) | word_bit(CueSound::word_again)));
    const auto& word = sounds.wave(CueSound::word_on_time);
    CHECK(silence_before(word) == 0);
    CHECK(std::abs(static_cast<double>(word.size()) - 0.4 * 48'000) < 0.02 * 48'000);
    CHECK(sounds.wave(CueSound::good) != before.wave(CueSound::good));
    for (const CueSound kept : {CueSound::bad, CueSound::held_back, CueSound::toe_off, CueSound::touchdown})
        CHECK(sounds.wave(kept) == before.wave(kept));
}

TEST_CASE("what can't be used is told with its file and what to do, and the sound stays as it was") {
    const Folder folder;
    write_wav(folder.path / "toe_off.wav", 0, 200);  // a cue: when it begins is measured
    write_wav(folder.path / "hurrah.wav", 0, 200);   // no word of ours
    write_wav(folder.path / "late.wav", 0, 2000);    // would run into the next attack
    write_wav(folder.path / "clash.wav", 300, 0);    // nothing in it
    std::ofstream(folder.path / "bad.wav") << "no sound at all";
    std::ofstream(folder.path / "notes.txt") << "of no concern";
    SoundSet sounds = shipped();
    const SoundSet before = sounds;
    const auto unused = add_recorded_voices(folder.path.string(), sounds);
    CHECK(unused.size() == 5);
    CHECK(says(unused, "toe_off.wav", "no word of ours"));
    CHECK(says(unused, "hurrah.wav", "no word of ours"));
    CHECK(says(unused, "late.wav", "longer than 1.5 s"));
    CHECK(says(unused, "clash.wav", "nothing is to be heard"));
    CHECK(says(unused, "bad.wav", "can't be used"));
    for (const Error& error : unused) CHECK_FALSE(error.to_do.empty());
    CHECK(sounds.waves == before.waves);
}

TEST_CASE("a folder that is missing or empty is one line, and everything sounds as ever") {
    const Folder folder;
    SoundSet sounds = shipped();
    const SoundSet before = sounds;
    const auto missing = add_recorded_voices((folder.path / "none").string(), sounds);
    REQUIRE(missing.size() == 1);
    CHECK(missing[0].what.find("can't be read") != std::string::npos);
    const auto empty = add_recorded_voices(folder.path.string(), sounds);
    REQUIRE(empty.size() == 1);
    CHECK(empty[0].what.find("holds no recording") != std::string::npos);
    CHECK(sounds.waves == before.waves);
}
