// The sound device: opened through SDL2_mixer, its stream counted in frames, its cues mixed by a CueMixer in the
// post-mix hook. Tells for each block when it was asked for, so that the engine can fit frames to host time.
//
// Owned by the application; open() and the destructor on one thread (the main one), next_block() on one
// thread (the engine's), the counters on any. The hook runs on SDL's audio thread. Fails at open() when there is no
// sound; the rest of the program works without it. One device at a time (SDL_mixer is global).
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>

#include "core/error.hpp"
#include "core/time.hpp"
#include "devices/audio/audio_stream.hpp"
#include "devices/audio/cue_mixer.hpp"

namespace breakstep {

struct AudioSettings {
    /// Of one buffer, 64..4096. When late_blocks grows: close, cancel_all() the mixer, open again with 480.
    int frames = 256;
};

class AudioDevice {
  public:
    /// `mixer` must outlive the device. Errors: no sound device, or not at 48 kHz, 16 bits, stereo.
    [[nodiscard]] static Expected<AudioDevice> open(CueMixer& mixer, const AudioSettings& settings);
    AudioDevice(AudioDevice&&) noexcept;
    AudioDevice& operator=(AudioDevice&&) noexcept;
    ~AudioDevice();

    [[nodiscard]] std::optional<AudioBlock> next_block();
    [[nodiscard]] AudioCounters counters() const;
    /// Frames of one buffer, as the device took it.
    [[nodiscard]] int frames() const;
    /// "pulseaudio, 256 frames of 48 kHz".
    [[nodiscard]] std::string describe() const;

  private:
    struct Inside;
    explicit AudioDevice(std::unique_ptr<Inside> inside);
    std::unique_ptr<Inside> inside_;
};

}  // namespace breakstep
