// The sound device: opened through SDL2_mixer, its stream counted in frames, its cues mixed by a CueMixer in the
// post-mix hook. Tells for each block when it was asked for, so that the engine can fit frames to host time.
//
// Owned by the application; open(), reopen() and the destructor on one thread (the main one), next_block() on one
// thread (the engine's), the counters on any. The hook runs on SDL's audio thread. Fails at open() when there is no
// sound; the rest of the program works without it. One device at a time (SDL_mixer is global).
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>

#include "core/error.hpp"
#include "core/time.hpp"
#include "devices/audio/cue_mixer.hpp"

namespace breakstep {

/// One call of the device: frames [first, first + frames) were asked for at `asked_at`. Calls come late, never early:
/// the smallest asked_at - first / rate over many blocks is the best guess of the stream's start.
struct AudioBlock {
    std::uint32_t stream = 0;  ///< counts openings: frames start from 0 in each
    AudioFrame first{};
    int frames = 0;
    HostTime asked_at{};
};

struct AudioSettings {
    int frames = 256;  ///< of one buffer, 64..4096; 480 after underruns
};

struct AudioCounters {
    std::uint64_t blocks = 0;
    std::uint64_t late_blocks = 0;    ///< came later than the device's buffers last: the sound has likely broken up
    std::uint64_t blocks_unsaid = 0;  ///< the queue of AudioBlock was full
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
