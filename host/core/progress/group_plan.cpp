#include "core/progress/group_plan.hpp"

#include <algorithm>
#include <array>

namespace breakstep::progress {
namespace {

/// On time of the attacks of that moment that nobody knew beforehand, over the last days.
Share on_time_of(const AthleteTerm& term, Moment moment) {
    Share share;
    for (const auto& [situation, verdicts] : term.recent_situations) {
        const bool feint = situation.kind == AttackKind::feint, known = situation.start == StartKind::pattern;
        if (situation.moment != moment || situation.asks_several() || feint || known) continue;
        for (std::size_t i = 0; i < verdicts.size(); ++i) {
            const auto verdict = static_cast<Verdict>(i);
            share.of += verdicts[i];
            if (verdict == Verdict::on_time || verdict == Verdict::around) share.hits += verdicts[i];
        }
    }
    return share;
}

PlanBlock block_of(std::span<const AthleteTerm> terms, Moment moment) {
    PlanBlock block;
    block.moment = moment;
    double rates = 0;
    std::size_t training = 0;
    for (const AthleteTerm& term : terms) {
        training += term.sessions > 0 ? 1 : 0;
        const Share own = on_time_of(term, moment);
        if (own.of < fewest_an_evening) continue;
        ++block.athletes;
        block.on_time += own;
        rates += own.rate();
    }
    if (block.athletes > 0) block.rate = rates / static_cast<double>(block.athletes);
    block.told = block.on_time.of >= fewest_for_plan && block.athletes >= std::min(fewest_athletes_for_plan, training);
    return block;
}

bool comes_before(const PlanBlock& a, const PlanBlock& b) {
    if (a.moment == Moment::lift || b.moment == Moment::lift) return b.moment == Moment::lift && a.moment != b.moment;
    return a.told != b.told ? a.told : a.told && a.rate < b.rate;
}

}  // namespace

std::vector<PlanBlock> group_plan(std::span<const AthleteTerm> terms, const PlanRules& rules) {
    // In the order in which they are learned.
    constexpr std::array all{Moment::gap, Moment::drop, Moment::lift};
    const bool by_coach = !rules.order.empty();
    std::vector<PlanBlock> blocks;
    for (const Moment moment : by_coach ? std::span<const Moment>(rules.order) : std::span<const Moment>(all)) {
        blocks.push_back(block_of(terms, moment));
        blocks.back().by_coach = by_coach;
    }
    if (!by_coach) std::stable_sort(blocks.begin(), blocks.end(), comes_before);
    std::int32_t week = 1;
    for (PlanBlock& block : blocks) {
        block.first_week = week;
        week += rules.weeks;
        block.last_week = week - 1;
    }
    return blocks;
}

}  // namespace breakstep::progress
