#include "core/score/attack.hpp"

namespace breakstep::scoring {
namespace {

Phase phase_of(Moment moment) {
    switch (moment) {
        case Moment::lift:
            return Phase::lift;
        case Moment::gap:
            return Phase::gap;
        case Moment::drop:
            return Phase::drop;
    }
    return Phase::guard;
}

}  // namespace

std::optional<std::size_t> Attack::phase_at(Duration at) const {
    if (at < toe_off() || at >= end()) return std::nullopt;
    std::size_t index = 0;
    while (index + 1 < phases.size() && onsets[index + 1].at <= at) ++index;
    return index;
}

std::vector<Window> Attack::windows(Moment moment) const {
    AttackChoice alone;
    alone.moment = moment;
    return windows(alone);
}

std::vector<Window> Attack::windows(const AttackChoice& asked) const {
    std::vector<Window> found;
    for (std::size_t i = 0; i < phases.size(); ++i) {
        bool is_asked = false;
        for (const Moment moment : {Moment::lift, Moment::gap, Moment::drop})
            is_asked = is_asked || (asked.asks(moment) && phases[i].phase == phase_of(moment));
        if (!is_asked) continue;
        Window window = whole(i);
        if (phases[i].phase == Phase::lift && i == 0) window.begin -= lead;
        found.push_back(window);
    }
    return found;
}

}  // namespace breakstep::scoring
