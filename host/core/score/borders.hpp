// The borders of a rep with a partner as its gates saw them: where each lies from toe-off, and how surely. Pure; any
// thread; cannot fail.
#pragma once

#include <vector>

#include "core/score/score.hpp"

namespace breakstep {

/// Where a border of a rep lies: from toe-off, as measured, and how surely.
struct RepBorder {
    Phase phase{};
    Duration at{};
    Uncertainty uncertainty = unknown_uncertainty;
};

/// Those that gates saw: without the end of a gap or of hands that nothing follows.
[[nodiscard]] inline std::vector<RepBorder> borders_of(const RepResult& rep) {
    std::vector<RepBorder> borders;
    if (rep.phases.empty() || rep.border_bounds.size() != rep.phases.size() + 1) return borders;
    Duration at{};
    const auto add = [&](Phase phase, std::size_t index) {
        const Uncertainty own = rep.border_bounds[index], toe_off = rep.border_bounds.front();
        const bool known = own != unknown_uncertainty && toe_off != unknown_uncertainty;
        borders.push_back({phase, at, known ? (index == 0 ? own : own + toe_off) : unknown_uncertainty});
    };
    for (std::size_t i = 0; i < rep.phases.size(); ++i) {
        add(rep.phases[i].phase, i);
        at += rep.phases[i].length;
    }
    const Phase last = rep.phases.back().phase;
    if (last != Phase::gap && last != Phase::hands) add(Phase::guard, rep.phases.size());
    return borders;
}

}  // namespace breakstep
