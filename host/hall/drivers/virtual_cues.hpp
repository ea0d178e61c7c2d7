// The cue output of a fast run: mixes the same samples as the sound device would, 256 frames a time, in virtual time,
// and throws the pictures away. Owned by the fast driver, on its thread.
#pragma once

#include <deque>
#include <memory>
#include <utility>
#include <vector>

#include "hall/drivers/cue_output.hpp"

namespace breakstep {

class VirtualCues final : public CueOutput {
  public:
    static constexpr std::int32_t block_frames = 256;

    /// Silent if `sounds` is null: then there is no stream at all. Blocks are asked for from `begin` on.
    VirtualCues(std::unique_ptr<CueMixer> mixer, HostTime begin);

    void play(const SoundCommand& command) override;
    void show(const StageView& view) override;
    [[nodiscard]] std::optional<CueStarted> next_started() override;
    [[nodiscard]] std::optional<BlockAsked> next_block() override;
    [[nodiscard]] std::optional<BorderShown> next_shown() override;

    [[nodiscard]] std::optional<HostTime> next_due() const;
    /// Mixes every block whose time has come.
    void due(HostTime now);

    /// When each sound of `kind` was first mixed, if wanted, in order.
    void keep_starts(CueSound kind, std::vector<HostTime>* starts) {
        kept_kind_ = kind;
        starts_ = starts;
    }
    /// What was mixed, if wanted: interleaved left, right, from frame 0.
    void keep_samples(std::vector<std::int16_t>* samples) { samples_ = samples; }
    [[nodiscard]] const CueMixer* mixer() const { return mixer_.get(); }
    [[nodiscard]] const StageView& last_view() const { return view_; }
    /// Whether another view was shown since the last call.
    [[nodiscard]] bool take_shown() { return std::exchange(shown_, false); }

  private:
    [[nodiscard]] HostTime block_time() const;

    std::unique_ptr<CueMixer> mixer_;
    HostTime begin_;
    std::int64_t next_frame_ = 0;
    std::vector<std::int16_t> block_;
    std::deque<BlockAsked> asked_;
    std::vector<std::int16_t>* samples_ = nullptr;
    CueSound kept_kind_{};
    std::vector<HostTime>* starts_ = nullptr;
    StageView view_;
    bool shown_ = false;
};

}  // namespace breakstep
