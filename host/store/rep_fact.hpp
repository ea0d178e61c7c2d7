// What a rep's columns say together, for whoever reads them for a term: of one rule, a store's or a server's. Pure.
#pragma once

#include <optional>

#include "core/progress/facts.hpp"
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

}  // namespace breakstep
