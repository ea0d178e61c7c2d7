#include "app/scene/advice.hpp"

#include <algorithm>
#include <array>

namespace breakstep {
namespace {

struct Counted {
    std::array<int, static_cast<std::size_t>(Verdict::void_rep) + 1> of{};
    int scored = 0, feints = 0;
    int clashes_going_up = 0, early_in_lift = 0, late_for_lift = 0;

    [[nodiscard]] int count(Verdict verdict) const { return of[static_cast<std::size_t>(verdict)]; }
    [[nodiscard]] int good() const { return count(Verdict::on_time) + count(Verdict::around); }
};

Counted counted(std::span<const RepResult> reps) {
    Counted sum;
    for (const RepResult& rep : reps) {
        if (rep.catch_trial && rep.verdict == Verdict::held) continue;
        ++sum.of[static_cast<std::size_t>(rep.verdict)];
        if (rep.scored) ++sum.scored;
        if (rep.asked.kind == AttackKind::feint) ++sum.feints;
        if (rep.verdict == Verdict::clash && rep.phase == Phase::up) ++sum.clashes_going_up;
        if (rep.verdict == Verdict::late && rep.asked.moment == Moment::lift) ++sum.late_for_lift;
    }
    return sum;
}

std::string times(int count, const char* one, const char* many) {
    return std::to_string(count) + " " + (count == 1 ? one : many);
}

Advice for_clashes(const Counted& sum) {
    const int clashes = sum.count(Verdict::clash);
    const std::string what = times(clashes, "clash", "clashes");
    if (2 * sum.clashes_going_up > clashes) return {"Not into a rising leg.", what + ", most while it went up."};
    return {"Let the foot pass the line.", what + ", most just above it."};
}

}  // namespace

Advice advice_for(std::span<const RepResult> reps) {
    const Counted sum = counted(reps);
    const int rated = sum.scored + sum.feints;
    if (rated == 0) return {};
    // A third of a set is what a coach would speak of; under two it may be chance.
    const auto often = [&](int count) { return count >= 2 && 3 * count >= rated; };
    if (sum.count(Verdict::got_hit) >= 2)
        return {"Stay one step outside.",
                times(sum.count(Verdict::got_hit), "hit", "hits") + " taken inside the near mark."};
    if (often(sum.count(Verdict::clash))) return for_clashes(sum);
    if (sum.count(Verdict::took_the_feint) >= 2)
        return {"Wait for the real one.", times(sum.count(Verdict::took_the_feint), "feint", "feints") + " taken."};
    if (often(sum.count(Verdict::early)))
        return {"Later: see it first.", times(sum.count(Verdict::early), "strike", "strikes") + " too early."};
    if (often(sum.count(Verdict::late)))
        return sum.late_for_lift > 0 ? Advice{"Go with the lift, not after it.",
                                              times(sum.count(Verdict::late), "strike", "strikes") + " too late."}
                                     : Advice{"Be ready before it falls.",
                                              times(sum.count(Verdict::late), "strike", "strikes") + " too late."};
    if (sum.count(Verdict::gave_ground) >= 2)
        return {"Give one step, no more.",
                times(sum.count(Verdict::gave_ground), "time", "times") + " out of reach at touchdown."};
    if (sum.count(Verdict::no_step) >= 2)
        return {"Step in with the hand.",
                times(sum.count(Verdict::no_step), "time", "times") + " from outside the near mark."};
    if (sum.count(Verdict::wrong_pad) >= 2)
        return {"Choose the pad first.",
                times(sum.count(Verdict::wrong_pad), "strike", "strikes") + " on another one."};
    if (often(sum.count(Verdict::missed)))
        return {"Answer every attack.", times(sum.count(Verdict::missed), "attack", "attacks") + " without an answer."};
    const std::string on_time = std::to_string(sum.good()) + " of " + std::to_string(sum.scored) + " on time.";
    if (sum.scored > 0 && 5 * sum.good() >= 4 * sum.scored) return {"Good. Now change your rhythm.", on_time};
    return {"Same again, calmly.", on_time};
}

}  // namespace breakstep
