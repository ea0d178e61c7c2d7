// Sounds and pictures: where they are placed, and when they truly began.
#include "hall/engine/engine_state.hpp"

namespace breakstep {
namespace {

// Sounds that belong to no moment of the attack: far enough ahead to be mixed, near enough to be felt as at once.
constexpr Duration sound_ahead = 80ms;

}  // namespace

void Engine::State::play(const PlaySound& sound, const Now& now) {
    if (!settings.devices.sound) return;
    // What belongs to no moment comes as soon as it can be mixed: two blocks ahead, once a block was asked for.
    HostTime heard =
        now.host +
        (block_frames > 0 ? 2 * Duration(block_frames * 1'000'000'000LL / audio_frames_per_second) : sound_ahead);
    if (sound.at) {
        const auto host = link.host_time_from(*sound.at);
        if (!host) {
            ++counters.cues_unconverted;
            return;
        }
        heard = host->at;
    }
    // What the speaker adds is taken off beforehand, as far as the block being mixed allows.
    if (settings.sound_delay) heard -= settings.sound_delay->delay;
    if (!audio_clock.has_fit()) {
        ++counters.sounds_without_clock;
        return;
    }
    const AudioReading frame = audio_clock.audio_frame_from(heard);
    const std::uint64_t id = next_sound++;
    if (sound.cue.rep != CueRef::none) sounds[id] = sound.cue;
    out.sounds.push_back(SoundOrder{id, sound.sound, frame.at});
}

void Engine::State::test_sound(const Now& now) {
    if (!settings.devices.sound || !audio_clock.has_fit()) {
        ++counters.sounds_without_clock;
        return;
    }
    const std::uint64_t id = next_sound++;
    test_sounds.push_back(id);
    out.sounds.push_back(SoundOrder{id, CueSound::count, audio_clock.audio_frame_from(now.host + sound_ahead).at});
}

void Engine::onset(std::uint64_t sound, AudioFrame frame, bool late, HostTime now) {
    State& s = *state_;
    if (late) ++s.counters.sounds_late;
    if (std::erase(s.test_sounds, sound) > 0 && s.audio_clock.has_fit()) {
        if (const auto began = s.link.target_time_from(s.audio_clock.host_time_from(frame).at))
            s.out.test_sounds.push_back(began->at);
        return;
    }
    const auto found = s.sounds.find(sound);
    if (found == s.sounds.end()) return;
    const CueRef cue = found->second;
    s.sounds.erase(found);
    if (!s.running) return;
    if (!s.audio_clock.has_fit()) {
        ++s.counters.cues_unconverted;
        return;
    }
    const HostReading mixed = s.audio_clock.host_time_from(frame);
    const HostTime heard = mixed.at + (s.settings.sound_delay ? s.settings.sound_delay->delay : Duration{});
    const auto target = s.link.target_time_from(heard);
    if (!target) {
        ++s.counters.cues_unconverted;
        return;
    }
    const bool measured = s.settings.sound_delay && s.settings.sound_delay->spread != unknown_uncertainty;
    const Uncertainty uncertainty =
        measured ? s.settings.sound_delay->spread + mixed.bound + target->bound : unknown_uncertainty;
    s.conduct->cue_began(cue, OnsetSource::sound, target->at, uncertainty, static_cast<std::int64_t>(frame),
                         s.now_at(now));
    s.pump(now);
}

void Engine::shown(RepId rep, std::int32_t index, HostTime shown_at, std::int64_t frame, HostTime now) {
    State& s = *state_;
    if (!s.running) {
        if (const auto flash = s.link.target_time_from(shown_at)) s.out.flashes.push_back(flash->at);
        return;
    }
    const HostTime seen = shown_at + (s.settings.screen_delay ? s.settings.screen_delay->delay : Duration{});
    const auto target = s.link.target_time_from(seen);
    if (!target) {
        ++s.counters.cues_unconverted;
        return;
    }
    const bool measured = s.settings.screen_delay && s.settings.screen_delay->spread != unknown_uncertainty;
    const Uncertainty uncertainty = measured ? s.settings.screen_delay->spread + target->bound : unknown_uncertainty;
    s.conduct->cue_began({rep, index}, OnsetSource::screen, target->at, uncertainty, frame, s.now_at(now));
    s.pump(now);
}

void Engine::audio_block(AudioFrame first, std::int32_t frames, HostTime asked_at, HostTime) {
    state_->block_frames = frames;
    state_->audio_clock.callback(first, asked_at);
}

}  // namespace breakstep
