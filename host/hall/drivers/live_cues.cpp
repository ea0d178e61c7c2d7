#include "hall/drivers/live_cues.hpp"

#include "devices/audio/recorded_voices.hpp"

namespace breakstep {

LiveCues::LiveCues(const Wanted& wanted) {
    if (wanted.sound) {
        auto sounds = load_sounds(wanted.sounds_directory);
        if (!sounds) {
            missing_.push_back("no sound: " + sounds.error().text());
        } else {
            if (!wanted.voices.empty())
                for (const Error& unused : add_recorded_voices(wanted.voices, *sounds))
                    missing_.push_back(unused.text());
            mixer_ = std::make_unique<CueMixer>(std::move(*sounds));
            auto device = AudioDevice::open(*mixer_, wanted.audio);
            if (device)
                audio_ = std::move(*device);
            else
                missing_.push_back("no sound: " + device.error().text());
        }
    }
    if (wanted.stage) {
        auto window = StageWindow::open(wanted.window);
        if (window) {
            window_ = std::move(*window);
            screen_name_ = window_->screen_name();
        } else {
            missing_.push_back("no stage: " + window.error().text());
        }
    }
}

void LiveCues::play(const SoundCommand& command) {
    if (!audio_) return;
    const auto* order = std::get_if<SoundOrder>(&command);
    const bool taken =
        order != nullptr ? mixer_->order({order->id, order->sound, order->at, 1.0F}) : mixer_->cancel_all();
    if (!taken) ++sounds_refused_;
}

void LiveCues::show(const StageView& view) {
    if (window_) window_->show(view);
}

std::optional<CueStarted> LiveCues::next_started() { return audio_ ? mixer_->next_started() : std::nullopt; }

std::optional<BlockAsked> LiveCues::next_block() {
    if (!audio_) return std::nullopt;
    const auto block = audio_->next_block();
    if (!block) return std::nullopt;
    return BlockAsked{block->first, block->frames, block->asked_at};
}

std::optional<BorderShown> LiveCues::next_shown() {
    if (!window_) return std::nullopt;
    const auto onset = window_->next_onset();
    if (!onset) return std::nullopt;
    return BorderShown{RepId{static_cast<std::int32_t>(onset->rep)}, static_cast<std::int32_t>(onset->phase_index),
                       onset->presented, static_cast<std::int64_t>(onset->frame)};
}

}  // namespace breakstep
