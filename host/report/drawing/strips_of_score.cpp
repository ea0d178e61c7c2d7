#include "report/drawing/strips_of_score.hpp"

#include <cmath>

namespace breakstep {

AttackTimeline timeline_of(AttackKind kind, const std::vector<AttackPhase>& phases) {
    AttackTimeline attack;
    attack.kind = kind;
    for (const AttackPhase& phase : phases)
        if (phase.length > Duration{}) attack.phases.push_back(phase);
    return attack;
}

StripRep strip_rep(const RepResult& rep) {
    StripRep row;
    row.number = rep.number;
    row.attack = timeline_of(rep.asked.kind, rep.phases);
    row.verdict = rep.verdict;
    row.commit = rep.commit_from_onset;
    row.contact = rep.contact_from_onset;
    return row;
}

std::optional<RhythmLane> rhythm_lane(const Score& score, std::optional<std::int32_t> set) {
    constexpr std::size_t enough = 3;
    // Columns narrower than a dot can be told apart no more.
    constexpr std::size_t most = 90;
    RhythmLane strip;
    for (const IntervalRead& read : score.intervals()) {
        if (set && read.set != *set) continue;
        StepIn step;
        step.interval = read.length;
        step.cut = read.cut;
        // A guess that counts neither way is not shown: the lane would tell another number than its words.
        if (read.counted && read.window_begin && read.window_end && *read.window_end > *read.window_begin)
            step.guess = Guess{*read.window_begin, *read.window_end};
        step.caught = step.guess && read.caught;
        strip.steps.push_back(step);
    }
    if (strip.steps.size() < enough) return std::nullopt;
    if (strip.steps.size() > most) strip.steps.erase(strip.steps.begin(), strip.steps.end() - most);
    const SessionTotals totals = score.totals();
    strip.sign = totals.sign;
    strip.windows = totals.windows;
    strip.caught = totals.caught;
    strip.chance = static_cast<int>(std::lround(totals.caught_by_chance));
    return strip;
}

}  // namespace breakstep
