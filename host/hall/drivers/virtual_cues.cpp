#include "hall/drivers/virtual_cues.hpp"

#include <algorithm>

namespace breakstep {

VirtualCues::VirtualCues(std::unique_ptr<CueMixer> mixer, HostTime begin)
    : mixer_(std::move(mixer)), begin_(begin), block_(2 * block_frames) {}

HostTime VirtualCues::block_time() const {
    return begin_ + Duration(next_frame_ * 1'000'000'000 / audio_frames_per_second);
}

void VirtualCues::play(const SoundCommand& command) {
    if (!mixer_) return;
    // The virtual queue is emptied by every block, so it can only be full if more than 256 cues came within 5 ms.
    const auto* order = std::get_if<SoundOrder>(&command);
    const bool taken =
        order != nullptr ? mixer_->order({order->id, order->sound, order->at, 1.0F}) : mixer_->cancel_all();
    if (!taken) broken_invariant("the virtual mixer's queue is full");
}

void VirtualCues::show(const StageView& view) {
    view_ = view;
    shown_ = true;
}

std::optional<CueStarted> VirtualCues::next_started() {
    if (!mixer_) return std::nullopt;
    const std::optional<CueStarted> started = mixer_->next_started();
    if (started && starts_ != nullptr && started->sound == kept_kind_)
        starts_->push_back(
            begin_ + Duration(static_cast<std::int64_t>(started->started) * 1'000'000'000 / audio_frames_per_second));
    return started;
}

std::optional<BlockAsked> VirtualCues::next_block() {
    if (asked_.empty()) return std::nullopt;
    const BlockAsked block = asked_.front();
    asked_.pop_front();
    return block;
}

std::optional<BorderShown> VirtualCues::next_shown() { return std::nullopt; }

std::optional<HostTime> VirtualCues::next_due() const { return mixer_ ? std::optional(block_time()) : std::nullopt; }

void VirtualCues::due(HostTime now) {
    while (mixer_ && block_time() <= now) {
        asked_.push_back({AudioFrame{next_frame_}, block_frames, block_time()});
        std::fill(block_.begin(), block_.end(), std::int16_t{0});
        mixer_->render(block_.data(), block_frames, AudioFrame{next_frame_});
        if (samples_ != nullptr) samples_->insert(samples_->end(), block_.begin(), block_.end());
        next_frame_ += block_frames;
    }
}

}  // namespace breakstep
