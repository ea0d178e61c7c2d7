// A class without a rig in a block of an evening: what the stage shows the pairs, by a clock of the class's own that a
// pause holds. Made when the block begins; due() is asked as often as one likes and tells each step once.
//
// Owned by the evening, on its thread; never fails.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "hall/scene/pairs_view.hpp"

namespace breakstep {

/// As many rounds as the time has room for, two at least (each attacks as often as the other); of fewer cues where even
/// two of eight are too long. Nothing: there is no time for one cue each.
[[nodiscard]] std::optional<PairsClass> class_that_fits(const Drill& drill, std::uint64_t seed, Duration time,
                                                        std::vector<std::pair<std::string, std::string>> names);

class HallPairs {
  public:
    HallPairs(const PairsClass& given, HostTime began);

    struct Step {
        StageView view;
        bool tone = false;  ///< a round begins or ends
    };
    /// What has begun to stand since the last call; nothing while the same stands, and once it is over. In a pause
    /// nothing but that stands.
    [[nodiscard]] std::optional<Step> due(HostTime now, bool paused);
    /// What stands now; nothing before the first due(), and once the last has stood for ten seconds.
    [[nodiscard]] const std::optional<StageView>& view() const { return view_; }
    /// When all of it is over, as things stand.
    [[nodiscard]] HostTime end() const { return began_ + steps_.back().from; }

  private:
    std::vector<PairsStep> steps_;
    HostTime began_;
    std::size_t next_ = 0, shown_ = 0;  ///< steps that have begun; of those, how many were told
    std::optional<HostTime> paused_at_;
    std::optional<StageView> view_;
};

}  // namespace breakstep
