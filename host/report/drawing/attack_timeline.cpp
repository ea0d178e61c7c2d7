#include "report/drawing/attack_timeline.hpp"

namespace breakstep {

Duration AttackTimeline::begin_of(std::size_t index) const {
    Duration begin{};
    for (std::size_t i = 0; i < index && i < phases.size(); ++i) begin += phases[i].length;
    return begin;
}

std::optional<std::size_t> AttackTimeline::index_at(Duration since_toe_off) const {
    if (since_toe_off < Duration{}) return std::nullopt;
    Duration end{};
    for (std::size_t i = 0; i < phases.size(); ++i) {
        end += phases[i].length;
        if (since_toe_off < end) return i;
    }
    return std::nullopt;
}

}  // namespace breakstep
