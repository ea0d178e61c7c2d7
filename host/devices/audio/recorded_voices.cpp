#include "devices/audio/recorded_voices.hpp"

#include <algorithm>
#include <filesystem>
#include <system_error>

namespace breakstep {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t samples_per_ms = 48;

bool may_be_a_voice(CueSound sound) {
    return sound == CueSound::good || sound == CueSound::bad || sound == CueSound::held_back ||
           sound == CueSound::set_end || static_cast<std::size_t>(sound) >= cue_sound_count;
}

std::string names() {
    std::string all;
    for (std::size_t i = 0; i < cue_sound_count + recorded_word_count; ++i) {
        if (!may_be_a_voice(static_cast<CueSound>(i))) continue;
        if (!all.empty()) all += ", ";
        all += word(static_cast<CueSound>(i));
    }
    return all;
}

Error refused(const fs::path& path, const std::string& why, std::string to_do) {
    return {ErrorKind::bad_input, "the recording " + path.string() + " is not used: " + why, std::move(to_do)};
}

Expected<void> take(const fs::path& path, SoundSet& sounds) {
    const auto sound = cue_sound_from_word(path.stem().string());
    if (!sound || !may_be_a_voice(*sound))
        return tl::make_unexpected(refused(path, "no word of ours has that name", "name it one of " + names()));
    auto wave = read_wave(path.string());
    if (!wave) return tl::make_unexpected(refused(path, wave.error().what, "record it again as a WAV file (PCM)"));
    wave->erase(wave->begin(), wave->begin() + static_cast<std::ptrdiff_t>(silence_before(*wave)));
    if (wave->empty()) return tl::make_unexpected(refused(path, "nothing is to be heard in it", "record it louder"));
    if (wave->size() > static_cast<std::size_t>(longest_word_ms) * samples_per_ms)
        return tl::make_unexpected(
            refused(path, "it is longer than 1.5 s", "cut it: it would run into the next attack"));
    sounds.waves[static_cast<std::size_t>(*sound)] = std::move(*wave);
    return {};
}

}  // namespace

std::vector<Error> add_recorded_voices(const std::string& folder, SoundSet& sounds) {
    std::vector<Error> unused;
    std::vector<fs::path> files;
    std::error_code problem;
    for (auto entry = fs::directory_iterator(folder, problem); !problem && entry != fs::directory_iterator();
         entry.increment(problem))
        if (entry->path().extension() == ".wav") files.push_back(entry->path());
    if (problem)
        unused.push_back({ErrorKind::not_found,
                          "the folder of recordings " + folder + " can't be read: " + problem.message(),
                          "name a folder of WAV files at sound.voices in the settings, or \"\""});
    else if (files.empty())
        unused.push_back({ErrorKind::not_found, "the folder " + folder + " holds no recording that ends in .wav",
                          "put there what you recorded: " + names()});
    std::sort(files.begin(), files.end());
    for (const fs::path& file : files)
        if (auto taken = take(file, sounds); !taken) unused.push_back(std::move(taken.error()));
    return unused;
}

}  // namespace breakstep
