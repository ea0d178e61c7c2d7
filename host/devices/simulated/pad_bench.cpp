#include "devices/simulated/pad_bench.hpp"

#include <algorithm>

namespace breakstep {
namespace {

Duration tenths_of_ms(std::uint16_t value) { return value * 100us; }

}  // namespace

PadBench::Group& PadBench::group_for(HostTime crossed) {
    for (Group& group : groups_)
        if (crossed - group.opened <= crosstalk_ms_ * 1ms) return group;
    groups_.push_back({++groups_begun_, crossed, crossed + crosstalk_ms_ * 1ms});
    return groups_.back();
}

std::optional<HostTime> PadBench::level(HostTime crossed, HostTime struck, std::size_t index, std::uint16_t level) {
    Pad& pad = pads_[index];
    const PadTuning& tuning = tuning_[index];
    if (level < tuning.threshold) return std::nullopt;
    if (pad.open) {
        if (crossed - pad.crossed <= tenths_of_ms(tuning.window)) pad.peak = std::max(pad.peak, level);
        return std::nullopt;
    }
    if (crossed < pad.deaf_until) {
        ++swallowed_;
        return std::nullopt;
    }
    Group& group = group_for(crossed);
    pad = {true, crossed, struck, crossed + tuning.refractory_ms * 1ms, level, group.id};
    group.closes = std::max(group.closes, crossed + tenths_of_ms(tuning.window));
    return group.closes;
}

Blow PadBench::finish(const Group& group) {
    std::optional<std::size_t> best;
    std::uint8_t members = 0;
    for (std::size_t i = 0; i < pads_.size(); ++i) {
        Pad& pad = pads_[i];
        if (!pad.open || pad.group != group.id) continue;
        pad.open = false;
        members = static_cast<std::uint8_t>(members | (1U << i));
        const bool stronger = best && (pad.peak > pads_[*best].peak ||
                                       (pad.peak == pads_[*best].peak && pad.crossed < pads_[*best].crossed));
        if (!best || stronger) best = i;
    }
    if (!best) broken_invariant("a blow was closed that no pad belongs to");
    const Pad& winner = pads_[*best];
    return {*best, winner.crossed, winner.struck, winner.peak, static_cast<std::uint8_t>(members & ~(1U << *best))};
}

void PadBench::close(HostTime now, std::vector<Blow>& out) {
    for (const Group& group : groups_)
        if (group.closes <= now) out.push_back(finish(group));
    std::erase_if(groups_, [now](const Group& group) { return group.closes <= now; });
}

void PadBench::restart() {
    groups_.clear();
    for (Pad& pad : pads_) pad = {};
}

}  // namespace breakstep
