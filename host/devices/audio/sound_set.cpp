#include "devices/audio/sound_set.hpp"

#include <SDL.h>

#include <toml++/toml.h>
#include <cmath>
#include <cstring>
#include <fstream>
#include <sstream>

namespace breakstep {
namespace {

constexpr std::array<std::string_view, cue_sound_count + recorded_word_count> words{
    "toe_off", "hip_crossing", "touchdown", "good",   "bad",  "held_back", "count", "set_end", "click", "on_time",
    "clash",   "early",        "late",      "missed", "held", "feint",     "hit",   "again",   "drop"};
constexpr int samples_per_second = 48'000;
/// Silence before a sound is delay that nobody sees: at most a tenth of a millisecond of it.
constexpr double onset_ms_max = 0.1;
/// Louder than this (1 % of full scale) counts as heard.
constexpr int heard = 327;

struct Entry {
    CueSound use;
    std::string file;
    double level;
};

tl::unexpected<Error> bad_manifest(const std::string& path, const toml::source_region& where, const std::string& what) {
    return failure(ErrorKind::bad_input, path + " line " + std::to_string(where.begin.line) + ": " + what,
                   "see the comments in the manifest that came with breakstep");
}

Expected<Entry> entry_from(const toml::table& table, const std::string& path) {
    for (const auto& [key, value] : table) {
        if (key != "use" && key != "file" && key != "level" && key != "onset_ms")
            return bad_manifest(path, value.source(), "unknown key " + std::string(key.str()));
    }
    const std::string use = table["use"].value_or(std::string{});
    const auto sound = cue_sound_from_word(use);
    if (!sound || static_cast<std::size_t>(*sound) >= cue_sound_count)
        return bad_manifest(path, table.source(), "use = \"" + use + "\" is no use of a sound");
    const std::string file = table["file"].value_or(std::string{});
    if (file.empty() || file.find('/') != std::string::npos)
        return bad_manifest(path, table.source(), "file must name a file in the same folder");
    const double level = table["level"].value_or(1.0);
    if (!(level >= 0 && level <= 1)) return bad_manifest(path, table.source(), "level must lie between 0 and 1");
    const double onset = table["onset_ms"].value_or(0.0);
    if (!(onset >= 0 && onset <= onset_ms_max))
        return bad_manifest(path, table.source(), "onset_ms must lie between 0 and 0.1: cut the silence off the file");
    return Entry{*sound, file, level};
}

Expected<std::vector<Entry>> read_manifest(const std::string& path) {
    std::ifstream file(path, std::ios::binary);
    if (!file)
        return failure(ErrorKind::not_found, "the sounds' manifest " + path + " can't be read",
                       "give the folder that holds manifest.toml");
    std::ostringstream text;
    text << file.rdbuf();
    std::vector<Entry> entries;
    try {
        const toml::table manifest = toml::parse(text.str(), path);
        for (const auto& [key, value] : manifest)
            if (key != "sound") return bad_manifest(path, value.source(), "unknown key " + std::string(key.str()));
        const toml::array* list = manifest["sound"].as_array();
        for (std::size_t i = 0; list != nullptr && i < list->size(); ++i) {
            const toml::table* table = list->get(i)->as_table();
            if (table == nullptr) return bad_manifest(path, list->source(), "each sound must be a table");
            auto entry = entry_from(*table, path);
            if (!entry) return tl::make_unexpected(entry.error());
            entries.push_back(*entry);
        }
    } catch (const toml::parse_error& error) {
        return bad_manifest(path, error.source(), std::string(error.description()));
    }
    return entries;
}

}  // namespace

std::string_view word(CueSound sound) { return words[static_cast<std::size_t>(sound)]; }

std::optional<CueSound> cue_sound_from_word(std::string_view text) {
    for (std::size_t i = 0; i < words.size(); ++i)
        if (words[i] == text) return static_cast<CueSound>(i);
    return std::nullopt;
}

Expected<std::vector<std::int16_t>> read_wave(const std::string& path) {
    const auto refused = [&] {
        return failure(ErrorKind::bad_input, "the sound " + path + " can't be used: " + SDL_GetError(),
                       "give a WAV file (PCM), or put back the one that came with breakstep");
    };
    SDL_AudioSpec spec;
    Uint8* bytes = nullptr;
    Uint32 length = 0;
    if (SDL_LoadWAV(path.c_str(), &spec, &bytes, &length) == nullptr) return refused();
    std::vector<Uint8> buffer(bytes, bytes + length);
    SDL_FreeWAV(bytes);
    SDL_AudioCVT convert;
    const int needed =
        SDL_BuildAudioCVT(&convert, spec.format, spec.channels, spec.freq, AUDIO_S16SYS, 1, samples_per_second);
    if (needed < 0) return refused();
    std::size_t used = buffer.size();
    if (needed > 0) {
        convert.len = static_cast<int>(buffer.size());
        buffer.resize(buffer.size() * static_cast<std::size_t>(convert.len_mult));
        convert.buf = buffer.data();
        if (SDL_ConvertAudio(&convert) != 0) return refused();
        used = static_cast<std::size_t>(convert.len_cvt);
    }
    std::vector<std::int16_t> wave(used / sizeof(std::int16_t));
    std::memcpy(wave.data(), buffer.data(), wave.size() * sizeof(std::int16_t));
    return wave;
}

std::size_t silence_before(const std::vector<std::int16_t>& wave) {
    std::size_t count = 0;
    while (count < wave.size() && std::abs(int{wave[count]}) < heard) ++count;
    return count;
}

RecordedWords SoundSet::words() const {
    RecordedWords recorded = 0;
    for (std::size_t i = cue_sound_count; i < waves.size(); ++i)
        if (!waves[i].empty()) recorded = static_cast<RecordedWords>(recorded | word_bit(static_cast<CueSound>(i)));
    return recorded;
}

Expected<SoundSet> load_sounds(const std::string& directory) {
    const std::string manifest = directory + "/manifest.toml";
    const auto entries = read_manifest(manifest);
    if (!entries) return tl::make_unexpected(entries.error());
    SoundSet sounds;
    for (const Entry& entry : *entries) {
        const std::string path = directory + "/" + entry.file;
        auto wave = read_wave(path);
        if (!wave) return tl::make_unexpected(wave.error());
        if (static_cast<double>(silence_before(*wave)) > onset_ms_max * samples_per_second / 1000)
            return failure(ErrorKind::bad_input,
                           "the sound " + path + " begins with silence, which would be heard as delay",
                           "cut everything before the first sound off the file");
        for (std::int16_t& sample : *wave) sample = static_cast<std::int16_t>(std::lround(sample * entry.level));
        sounds.waves[static_cast<std::size_t>(entry.use)] = std::move(*wave);
    }
    for (std::size_t i = 0; i < cue_sound_count; ++i)
        if (sounds.waves[i].empty())
            return failure(ErrorKind::bad_input, manifest + " names no sound for " + std::string(words[i]),
                           "add a [[sound]] with use = \"" + std::string(words[i]) + "\"");
    return sounds;
}

}  // namespace breakstep
