// A sound device that asks for 256 frames at a time, a little late now and then, and whose speaker is heard a known
// delay later: the truth behind cues by sound. Single thread; cannot fail.
#pragma once

#include <cstdint>
#include <map>
#include <variant>
#include <vector>

#include "core/random.hpp"
#include "hall/engine/engine.hpp"

namespace breakstep::tests {

class SoundStream {
  public:
    static constexpr std::int64_t block = 256;
    static constexpr Duration delay = 20ms;  ///< from the asking for a frame to its being heard
    static constexpr Duration delay_spread =
        60us;  ///< what a calibration said of it; the truth lies evenly within 50 us

    SoundStream(HostTime begin, double drift, std::uint64_t seed)
        : begin_(begin), rate_(1 + drift), random_(seed, 99) {}

    void take(const SoundCommand& command) {
        if (const auto* order = std::get_if<SoundOrder>(&command)) {
            orders_.push_back(*order);
        } else {
            orders_.clear();
        }
    }
    [[nodiscard]] HostTime next_due() const { return time_of(next_frame_); }
    /// Mixes the blocks whose time has come. `now` is not earlier than next_due().
    void due(Engine& engine, HostTime now) {
        while (time_of(next_frame_) <= now) {
            const HostTime asked = time_of(next_frame_);
            engine.audio_block(AudioFrame{next_frame_}, block,
                               asked + Duration(static_cast<std::int64_t>(random_.exponential(40e3))), now);
            for (std::size_t i = 0; i < orders_.size();) {
                const auto frame = static_cast<std::int64_t>(orders_[i].at);
                if (frame >= next_frame_ + block) {
                    ++i;
                    continue;
                }
                const SoundOrder order = orders_[i];
                orders_.erase(orders_.begin() + static_cast<std::ptrdiff_t>(i));
                last_left_ = time_of(std::max(frame, next_frame_));
                engine.onset(order.id, AudioFrame{std::max(frame, next_frame_)}, frame < next_frame_, now);
            }
            next_frame_ += block;
        }
    }
    /// When the device asked for the frame at which the last sound began: it left the computer then.
    [[nodiscard]] HostTime last_left() const { return last_left_; }
    /// When a frame was truly heard.
    [[nodiscard]] HostTime heard(std::int64_t frame) {
        const auto [found, is_new] = heard_.try_emplace(frame);
        if (is_new)
            found->second = time_of(frame) + delay + Duration(static_cast<std::int64_t>(random_.uniform(-50e3, 50e3)));
        return found->second;
    }

  private:
    [[nodiscard]] HostTime time_of(std::int64_t frame) const {
        return begin_ + Duration(static_cast<std::int64_t>(static_cast<double>(frame) * 1e9 /
                                                           (audio_frames_per_second * rate_)));
    }
    HostTime begin_;
    double rate_;
    Random random_;
    std::int64_t next_frame_ = 0;
    HostTime last_left_{};
    std::vector<SoundOrder> orders_;
    std::map<std::int64_t, HostTime> heard_;
};

}  // namespace breakstep::tests
