#include "core/leg/leg_reader.hpp"

namespace breakstep::leg {

std::string_view word(LegPhase phase) {
    switch (phase) {
        case LegPhase::guard:
            return "guard";
        case LegPhase::lift:
            return "lift";
        case LegPhase::up_or_pull_back:
            return "up or pull-back";
        case LegPhase::drop:
            return "drop";
        case LegPhase::gap:
            return "gap";
        case LegPhase::hands:
            return "hands";
    }
    return "unknown";
}

std::string_view word(CameKind kind) {
    switch (kind) {
        case CameKind::nothing:
            return "nothing";
        case CameKind::single:
            return "single";
        case CameKind::second_lift:
            return "second-lift";
        case CameKind::carry:
            return "carry";
        case CameKind::reset:
            return "reset";
        case CameKind::leg_to_hands:
            return "leg-to-hands";
        case CameKind::feint:
            return "feint";
        case CameKind::bounce:
            return "bounce";
        case CameKind::impossible:
            return "impossible";
    }
    return "unknown";
}

std::string_view reason(Impossible why) {
    switch (why) {
        case Impossible::none:
            return "";
        case Impossible::blocked:
            return "a partner's gate was broken before the rep and stayed so";
        case Impossible::hip_without_low:
            return "the hip gate broke while the low one was whole";
        case Impossible::hip_too_late:
            return "the hip gate broke more than 400 ms after the foot left the floor";
        case Impossible::down_above_hip:
            return "the low gate was restored while the hip gate was broken";
        case Impossible::edge_missing:
            return "a partner's gate changed twice the same way";
        case Impossible::never_down:
            return "the foot did not come down before the rep closed";
        case Impossible::out_of_order:
            return "a partner's gate told of an earlier moment, or the rig started anew";
        case Impossible::flickering:
            return "a partner's gate flickers";
    }
    return "unknown";
}

bool obeys(AttackKind asked, CameKind came) {
    switch (asked) {
        case AttackKind::single:
        case AttackKind::rebound:
            return came == CameKind::single;
        case AttackKind::carry:
            return came == CameKind::carry;
        case AttackKind::reset:
            return came == CameKind::reset;
        case AttackKind::leg_to_hands:
            return came == CameKind::leg_to_hands;
        case AttackKind::feint:
            return came == CameKind::feint;
    }
    return false;
}

}  // namespace breakstep::leg
