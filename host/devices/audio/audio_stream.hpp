// The body of the audio callback, apart from the device: counts the stream's frames, lets the mixer add its cues, and
// says when each block was asked for.
//
// Owned by AudioDevice (or a test). block() belongs to the audio thread and keeps to realtime_rules.hpp; next_block()
// to one other thread (the engine's); counters() to any. What does not fit the queue is counted.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>

#include "core/time.hpp"
#include "devices/audio/cue_mixer.hpp"
#include "devices/audio/realtime_rules.hpp"

namespace breakstep {

/// One call of the device: frames [first, first + frames) were asked for at `asked_at`. Calls come late, never early:
/// the smallest asked_at - first / rate over many blocks is the best guess of the stream's start.
struct AudioBlock {
    std::uint32_t stream = 0;  ///< counts openings: frames start from 0 in each
    AudioFrame first{};
    int frames = 0;
    HostTime asked_at{};
};

struct AudioCounters {
    std::uint64_t blocks = 0;
    std::uint64_t late_blocks = 0;    ///< came over three buffers after the one before: the sound has broken up
    std::uint64_t blocks_unsaid = 0;  ///< the queue of AudioBlock was full
};

class AudioStream {
  public:
    AudioStream(CueMixer& mixer, std::uint32_t stream);
    ~AudioStream();
    AudioStream(const AudioStream&) = delete;
    AudioStream& operator=(const AudioStream&) = delete;

    /// Adds this block's cues to `stereo` (2 * frames samples).
    BREAKSTEP_REALTIME void block(std::int16_t* stereo, int frames, HostTime asked_at) noexcept;

    [[nodiscard]] std::optional<AudioBlock> next_block();
    [[nodiscard]] AudioCounters counters() const;

  private:
    struct Inside;
    std::unique_ptr<Inside> inside_;
};

}  // namespace breakstep
