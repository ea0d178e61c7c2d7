// A set as it goes, for what must hold from frame to frame.
#pragma once

#include <cstdint>
#include <utility>
#include <vector>

#include "core/random.hpp"
#include "unit/stage/pixels.hpp"

namespace pixels {

/// A set as it goes: attacks of every kind, 1.2 s and more apart, each with a verdict.
struct Set {
    std::vector<StageAttack> attacks;
    std::vector<StageVerdict> verdicts;
};

inline Set a_set(std::uint64_t seed) {
    Set set;
    Random random(seed);
    const OpponentSettings settings = opponent_defaults(Level::advanced);
    HostTime at = start + 500ms;
    const AttackKind kinds[] = {AttackKind::single, AttackKind::rebound, AttackKind::carry,
                                AttackKind::reset,  AttackKind::feint,   AttackKind::leg_to_hands};
    const Verdict verdicts[] = {Verdict::on_time, Verdict::clash, Verdict::around,
                                Verdict::late,    Verdict::held,  Verdict::took_the_feint};
    for (std::uint32_t i = 0; i < 6; ++i) {
        StageAttack attack{i, at, {kinds[i], draw_attack(settings, kinds[i], 4, random), {}}};
        const HostTime end = at + attack.timeline.end();
        set.verdicts.push_back({verdicts[i], Moment::drop, Phase::drop, VoidReason::none, false, end - 60ms});
        set.attacks.push_back(std::move(attack));
        at = end + 1200ms;
    }
    return set;
}

inline StageView view_at(const Set& set, HostTime now) {
    StageView view = live(set.attacks);
    for (const StageVerdict& verdict : set.verdicts)
        if (verdict.since <= now) view.verdict = verdict;
    return view;
}

}  // namespace pixels
