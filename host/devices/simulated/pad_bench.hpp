// The pads of a simulated rig: what the firmware makes of levels that cross their thresholds. Knows no wire; RigModel
// owns it and calls it in order of time. Pure; one thread.
//
// A hit begins when the level reaches the threshold; its peak is searched for the window. Crossings within the
// crosstalk time after the first belong to one blow: the largest peak is the hit, the others its echoes. Then each of
// these pads is deaf until its refractory time, counted from its crossing, has passed.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

#include "core/time.hpp"

namespace breakstep {

struct PadTuning {
    std::uint16_t threshold = 60;  ///< level
    std::uint16_t window = 50;     ///< 0.1 ms
    std::uint16_t refractory_ms = 60;
};

struct Blow {
    std::size_t pad = 0;
    HostTime crossed;  ///< as stamped
    HostTime struck;   ///< in truth
    std::uint16_t peak = 0;
    std::uint8_t echoes = 0;
};

class PadBench {
  public:
    explicit PadBench(std::size_t pads) : tuning_(pads), pads_(pads) {}

    /// A level reached `pad` at `crossed`. Returns when the blow it belongs to should be closed; nullopt if it opened
    /// or lengthened none (below the threshold, or the pad is deaf).
    std::optional<HostTime> level(HostTime crossed, HostTime struck, std::size_t pad, std::uint16_t level);
    /// Reports the blows that are complete by `now`, in order of their beginnings.
    void close(HostTime now, std::vector<Blow>& out);
    /// A boot: open blows are forgotten. Tuning stays.
    void restart();

    [[nodiscard]] std::vector<PadTuning>& tuning() { return tuning_; }
    [[nodiscard]] std::uint16_t& crosstalk_ms() { return crosstalk_ms_; }
    [[nodiscard]] std::uint64_t swallowed() const { return swallowed_; }

  private:
    struct Pad {
        bool open = false;
        HostTime crossed, struck, deaf_until{};
        std::uint16_t peak = 0;
        std::size_t group = 0;
    };
    struct Group {
        std::size_t id = 0;
        HostTime opened, closes;
    };
    Group& group_for(HostTime crossed);
    Blow finish(const Group& group);

    std::vector<PadTuning> tuning_;
    std::vector<Pad> pads_;
    std::vector<Group> groups_;
    std::uint16_t crosstalk_ms_ = 5;
    std::size_t groups_begun_ = 0;
    std::uint64_t swallowed_ = 0;
};

}  // namespace breakstep
