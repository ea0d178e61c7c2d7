#include "devices/simulated/body.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>

namespace breakstep {
namespace {

// Readers of gates take breaks under 250 ms apart as one pass; a body needs a little more to turn round.
constexpr Duration turn_round = 262ms;

constexpr std::array<GateRole, 3> marks{GateRole::near_mark, GateRole::far_mark, GateRole::back_mark};

}  // namespace

HostTime Body::may_leave(Place to) const {
    if (to == place_) return arrived_;
    const auto from = static_cast<std::size_t>(place_);
    const std::size_t mark = to < place_ ? from - 1 : from;
    return std::max(arrived_, free_from_[mark]);
}

Body::Passage Body::move(HostTime at, Place to, const Gait& gait, std::vector<AthleteAct>& out) {
    HostTime at_mark = std::max(at, may_leave(to));
    Passage passage{at_mark, at_mark, at_mark};
    while (place_ != to) {
        const bool inward = to < place_;
        const auto from = static_cast<std::size_t>(place_);
        const std::size_t mark = inward ? from - 1 : from;
        const Duration between(std::llround(random_.uniform(static_cast<double>(gait.legs_least.count()),
                                                            static_cast<double>(gait.legs_most.count()))));
        at_mark = std::max(at_mark, free_from_[mark]);
        for (const HostTime leg : {at_mark, at_mark + between}) {
            out.push_back(BeamAct{leg, marks[mark], true});
            out.push_back(BeamAct{leg + gait.beam, marks[mark], false});
        }
        passage.last_mark = at_mark;
        free_from_[mark] = at_mark + between + turn_round;
        passage.arrived = at_mark + between + gait.beam;
        place_ = static_cast<Place>(inward ? from - 1 : from + 1);
        at_mark += gait.mark_to_mark;
    }
    arrived_ = std::max(arrived_, passage.arrived);
    return passage;
}

void Body::side_step(HostTime at, std::vector<AthleteAct>& out) {
    if (at < line_free_from_) return;
    const Duration away(std::llround(random_.uniform(300e6, 500e6)));
    for (const HostTime leg : {at, at + away}) {
        out.push_back(BeamAct{leg, GateRole::attack_line, true});
        out.push_back(BeamAct{leg + 60ms, GateRole::attack_line, false});
    }
    line_free_from_ = at + away + turn_round;
}

}  // namespace breakstep
