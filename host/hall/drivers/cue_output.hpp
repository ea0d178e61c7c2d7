// Where cues go: sounds and pictures. Two implementations: the devices of a live run, and the virtual ones of a fast
// run, which mix the same samples without a device. Called by the driver's thread only.
#pragma once

#include <cstdint>
#include <optional>

#include "devices/audio/cue_mixer.hpp"
#include "devices/stage/stage_view.hpp"
#include "hall/engine/engine.hpp"

namespace breakstep {

/// A block of the sound stream was asked for.
struct BlockAsked {
    AudioFrame first{};
    std::int32_t frames = 0;
    HostTime asked_at;
};
/// The screen first showed a border of an attack.
struct BorderShown {
    RepId rep{};
    std::int32_t index = 0;
    HostTime at;
    std::int64_t frame = 0;
};

class CueOutput {
  public:
    virtual ~CueOutput() = default;
    virtual void play(const SoundCommand& command) = 0;
    virtual void show(const StageView& view) = 0;
    /// What happened since the last call; ask until nothing comes.
    [[nodiscard]] virtual std::optional<CueStarted> next_started() = 0;
    [[nodiscard]] virtual std::optional<BlockAsked> next_block() = 0;
    [[nodiscard]] virtual std::optional<BorderShown> next_shown() = 0;
};

}  // namespace breakstep
