#include "core/conduct/partner_leg.hpp"

#include <algorithm>

namespace breakstep {

void PartnerLeg::connect(const RigConnected& rig, bool new_boot) {
    low_.reset();
    hip_.reset();
    hands_.reset();
    bool low_broken = false, hip_broken = false;
    for (const Channel& channel : rig.channels) {
        if (channel.kind != ChannelKind::gate) continue;
        const bool broken = (rig.gates_broken >> channel.index & 1U) != 0;
        if (channel.role == static_cast<std::uint8_t>(GateRole::low)) {
            low_ = channel.bound;
            low_broken = broken;
        }
        if (channel.role == static_cast<std::uint8_t>(GateRole::hip)) {
            hip_ = channel.bound;
            hip_broken = broken;
        }
        if (channel.role == static_cast<std::uint8_t>(GateRole::hands)) hands_ = channel.bound;
    }
    // The same boot kept its edges, and they say it themselves.
    if (!new_boot) return;
    low_broken_ = low_broken;
    hip_broken_ = hip_broken;
    waiting_.clear();
    last_edge_.reset();
    begin(std::nullopt);
}

void PartnerLeg::edge(const GateEdge& edge) {
    const auto& bound = edge.gate == GateRole::low ? low_ : edge.gate == GateRole::hip ? hip_ : hands_;
    const bool hands = edge.gate == GateRole::hands;
    if ((edge.gate != GateRole::low && edge.gate != GateRole::hip && !hands) || !bound) return;
    if (hands && !edge.broken) return;
    insert({edge.at, edge.sequence, edge.gate, edge.broken, *bound, OnsetSource::gate});
}

void PartnerLeg::insert(const Edge& edge) {
    constexpr std::size_t most = 1000;
    if (!waiting_.empty() && !waiting_.back().at.same_boot(edge.at)) waiting_.clear();
    if (waiting_.size() == most) waiting_.erase(waiting_.begin());
    auto place = waiting_.end();
    while (place != waiting_.begin() && edge.at < (place - 1)->at) --place;
    waiting_.insert(place, edge);
}

std::optional<TargetTime> PartnerLeg::next_before(TargetTime through) const {
    if (waiting_.empty() || !waiting_.front().at.same_boot(through) || waiting_.front().at >= through)
        return std::nullopt;
    return waiting_.front().at;
}

void PartnerLeg::read_next() {
    const Edge edge = waiting_.front();
    waiting_.erase(waiting_.begin());
    last_edge_ = edge.at;
    switch (edge.gate) {
        case GateRole::low:
            low_broken_ = edge.broken;
            return reader_.low(edge.broken, edge.at, edge.bound);
        case GateRole::hip:
            hip_broken_ = edge.broken;
            return reader_.hip(edge.broken, edge.at, edge.bound);
        default:
            hands_source_ = edge.source;
            return reader_.hands(edge.at, edge.bound);
    }
}

void PartnerLeg::begin(std::optional<AttackKind> asked) {
    reader_ = leg::LegReader(asked, low_broken_, hip_broken_);
    fetched_ = 0;
}

std::span<const leg::LegPhaseSeen> PartnerLeg::fresh() {
    const auto phases = reader_.phases().subspan(fetched_);
    fetched_ = reader_.phases().size();
    return phases;
}

}  // namespace breakstep
