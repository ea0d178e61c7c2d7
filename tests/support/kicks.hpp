// A partner's kicks as an exchange reads them.
#pragma once

#include <vector>

#include "core/score/exchange.hpp"
#include "core/trade/vocabulary.hpp"

namespace breakstep::testing {

/// What the gates tell of a kick of that kind.
inline CameKind came(AttackKind kind) {
    switch (kind) {
        case AttackKind::rebound:
            return CameKind::second_lift;
        case AttackKind::carry:
            return CameKind::carry;
        case AttackKind::reset:
            return CameKind::reset;
        case AttackKind::leg_to_hands:
            return CameKind::leg_to_hands;
        case AttackKind::feint:
            return CameKind::feint;
        case AttackKind::single:
            break;
    }
    return CameKind::single;
}

/// Whether the reading of an exchange tells that the partner kicks alike.
inline bool can_be_read(const std::vector<std::vector<AttackKind>>& kicks) {
    scoring::Exchange exchange;
    for (const auto& stretch : kicks)
        for (const AttackKind kind : stretch) exchange.kicked(came(kind));
    return exchange.partner_habit() == scoring::PartnerHabit::kicks_alike;
}

}  // namespace breakstep::testing
