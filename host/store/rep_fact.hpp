// What a rep's columns say together, for whoever reads them for a term: of one rule, a store's or a server's. Pure.
#pragma once

#include <optional>

#include "core/progress/facts.hpp"
#include "core/score/score.hpp"
#include "core/time.hpp"
#include "core/trade/lead.hpp"
#include "core/trade/vocabulary.hpp"

namespace breakstep {

/// With a partner what came counts: whether it was to be held back from.
inline void take_what_came(progress::RepFact& rep, std::optional<CameKind> came) {
    if (!came) return;
    const bool feint = *came == CameKind::feint;
    if (feint || rep.kind == AttackKind::feint) rep.kind = feint ? AttackKind::feint : AttackKind::single;
}

[[nodiscard]] inline bool was_struck_in_wait(std::optional<Duration> contact_from_onset) {
    return contact_from_onset && *contact_from_onset < -lead_longest;
}

/// A rep as it was scored, without having been kept.
[[nodiscard]] inline progress::RepFact fact_of(const RepResult& rep) {
    progress::RepFact fact;
    fact.set = rep.set;
    fact.number = rep.number;
    fact.kind = rep.asked.kind;
    take_what_came(fact, rep.came);
    fact.moment = rep.asked.moment;
    fact.moments = rep.asked.moments;
    fact.counter = rep.asked.counter;
    fact.start = rep.start;
    fact.verdict = rep.verdict;
    fact.scored = rep.scored;
    fact.catch_trial = rep.catch_trial;
    fact.contacted = rep.contacted;
    fact.retreated = rep.retreated;
    fact.voided_by_coach = rep.verdict == Verdict::void_rep && rep.void_reason == VoidReason::coach;
    fact.counts = rep.counts;
    fact.rung_hit = rep.rung_hit;
    fact.window = rep.window;
    if (rep.latency) fact.latency_ms = static_cast<double>(rep.latency->count()) / 1e6;
    if (rep.error) fact.error_ms = static_cast<double>(rep.error->count()) / 1e6;
    fact.struck_in_wait = was_struck_in_wait(rep.contact_from_onset);
    return fact;
}

}  // namespace breakstep
