// Cues, mixed by hand at exact audio frames. Pure: no device, no clock; frames come in as numbers, samples go out.
//
// Owned by the application. Three roles: order(), cancel() and next_started() belong to one thread (the engine's);
// render() to one other (the audio callback, or a test); the counters to any. Between them are bounded
// single-producer queues; what does not fit is refused or counted, never waited for. render() keeps to
// realtime_rules.hpp.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>

#include "core/time.hpp"
#include "devices/audio/realtime_rules.hpp"
#include "devices/audio/sound_set.hpp"

namespace breakstep {

/// One sound to be started at one frame. `id` is the engine's own and comes back in CueStarted.
struct CueOrder {
    std::uint64_t id = 0;
    CueSound sound = CueSound::toe_off;
    AudioFrame at{};
    float gain = 1.0F;  ///< 0..1, of the sound's own level
};

/// What became of an order.
struct CueStarted {
    std::uint64_t id = 0;
    CueSound sound = CueSound::toe_off;
    AudioFrame planned{};
    AudioFrame started{};  ///< equal to planned unless late
    bool late = false;     ///< its frame had gone by: started at once, at the block's first frame
};

struct MixerCounters {
    std::uint64_t started = 0;
    std::uint64_t late = 0;
    std::uint64_t cancelled = 0;
    std::uint64_t refused = 0;         ///< the queue of orders was full: order() said false
    std::uint64_t lost = 0;            ///< more than 64 orders were waiting
    std::uint64_t cut_short = 0;       ///< more than 16 sounds at once: the oldest gave way
    std::uint64_t started_unsaid = 0;  ///< the queue of CueStarted was full
    std::uint64_t saturated = 0;       ///< samples that had to be held at the limit
};

class CueMixer {
  public:
    static constexpr int waiting_max = 64;
    static constexpr int voices_max = 16;

    explicit CueMixer(SoundSet sounds);
    ~CueMixer();
    CueMixer(const CueMixer&) = delete;
    CueMixer& operator=(const CueMixer&) = delete;

    /// False: the queue is full (256 orders not yet seen by render()); nothing was ordered.
    [[nodiscard]] bool order(const CueOrder& order);
    /// Takes back an order that has not begun; one that has begun plays on. False as in order().
    [[nodiscard]] bool cancel(std::uint64_t id);
    /// Takes back everything that has not begun.
    [[nodiscard]] bool cancel_all();
    [[nodiscard]] std::optional<CueStarted> next_started();
    [[nodiscard]] MixerCounters counters() const;
    [[nodiscard]] const SoundSet& sounds() const { return sounds_; }

    /// Adds the cues of frames [first_frame, first_frame + frames) to `stereo` (interleaved left, right; 2 * frames
    /// samples), saturating. Blocks follow each other without a hole; for a new stream cancel_all() first.
    BREAKSTEP_REALTIME void render(std::int16_t* stereo, int frames, AudioFrame first_frame) noexcept;

  private:
    struct Inside;
    SoundSet sounds_;
    std::unique_ptr<Inside> inside_;
};

}  // namespace breakstep
