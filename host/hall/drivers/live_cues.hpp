// The cue output of a live run: the sound device and the window, each only if it is there. Opened and closed on the
// main thread; as a CueOutput used by the engine's thread.
#pragma once

#include <memory>
#include <optional>
#include <string>

#include "devices/audio/audio_device.hpp"
#include "devices/stage/stage_window.hpp"
#include "hall/drivers/cue_output.hpp"

namespace breakstep {

class LiveCues final : public CueOutput {
  public:
    struct Wanted {
        bool sound = true, stage = true;
        std::string sounds_directory;
        std::string voices;  ///< a folder of the coach's recordings; "": none
        AudioSettings audio;
        StageSettings window;
    };
    /// Opens what is wanted and there; what is missing is said in missing(), one line each.
    explicit LiveCues(const Wanted& wanted);

    void play(const SoundCommand& command) override;
    void show(const StageView& view) override;
    [[nodiscard]] std::optional<CueStarted> next_started() override;
    [[nodiscard]] std::optional<BlockAsked> next_block() override;
    [[nodiscard]] std::optional<BorderShown> next_shown() override;

    [[nodiscard]] bool has_sound() const { return audio_.has_value(); }
    /// The words that the coach recorded.
    [[nodiscard]] RecordedWords words() const { return audio_ ? mixer_->sounds().words() : RecordedWords{}; }
    /// The sound device as it tells its name; "" without one.
    [[nodiscard]] std::string sound_name() const { return audio_ ? audio_->describe() : std::string(); }
    /// The same of the screen the window is on, as it was when it opened.
    [[nodiscard]] const std::string& screen_name() const { return screen_name_; }
    /// Main thread only.
    [[nodiscard]] StageWindow* window() { return window_ ? &*window_ : nullptr; }
    [[nodiscard]] const std::vector<std::string>& missing() const { return missing_; }
    [[nodiscard]] std::uint64_t sounds_refused() const { return sounds_refused_; }

  private:
    std::unique_ptr<CueMixer> mixer_;
    std::optional<AudioDevice> audio_;
    std::optional<StageWindow> window_;
    std::string screen_name_;
    std::vector<std::string> missing_;
    std::uint64_t sounds_refused_ = 0;
};

}  // namespace breakstep
