#include "core/score/edge_watch.hpp"

#include <algorithm>

#include "core/score/exchange.hpp"

namespace breakstep::scoring {
namespace {

AtEdge how_led(Zone athlete) {
    if (athlete == Zone::unknown) return AtEdge::unknown;
    return athlete == Zone::inside ? AtEdge::crowded : AtEdge::led;
}

}  // namespace

void EdgeWatch::passed(std::span<const ZoneAt> passes) {
    for (const ZoneAt& pass : passes) {
        if (last_pass_ && pass.from <= *last_pass_) continue;
        last_pass_ = pass.from;
        if (last_visit_ && pass.from - *last_visit_ <= within_) continue;
        last_visit_ = pass.from;
        const AtEdge how = how_led(pass.zone);
        ++(how == AtEdge::led ? led_ : how == AtEdge::crowded ? crowded_ : unknown_);
        visits_.push_back({pass.from, how});
    }
    // No attack that is still to close lifted off before the newest pass by more than the longest leg.
    constexpr std::size_t kept = 16;
    if (visits_.size() > kept) visits_.erase(visits_.begin(), visits_.end() - kept);
}

void EdgeWatch::other_boot() {
    visits_.clear();
    last_visit_.reset();
    last_pass_.reset();
}

std::optional<EdgeWatch::Visit> EdgeWatch::take(Duration toe_off, Duration met) {
    std::erase_if(visits_, [&](const Visit& visit) { return visit.at < toe_off - within_; });
    std::optional<Visit> newest;
    for (const Visit& visit : visits_)
        if (visit.at <= met) newest = visit;
    if (newest) std::erase_if(visits_, [&](const Visit& visit) { return visit.at <= newest->at; });
    return newest;
}

std::optional<EdgeCounts> edge_counts(const Exchange* exchange, std::span<const RepResult> reps) {
    if (exchange == nullptr || exchange->edge() == nullptr) return std::nullopt;
    const EdgeWatch& watch = *exchange->edge();
    EdgeCounts counts{watch.led(), watch.crowded(), watch.unknown(), 0, 0};
    for (const RepResult& rep : reps) {
        if (rep.verdict == Verdict::void_rep || rep.at_edge != AtEdge::led || was_feint(rep)) continue;
        ++counts.attacked;
        counts.answered += rep.rung_hit.value_or(false) ? 1 : 0;
    }
    return counts;
}

}  // namespace breakstep::scoring
