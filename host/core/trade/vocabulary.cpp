#include "core/trade/vocabulary.hpp"

#include <array>
#include <cstddef>

namespace breakstep {
namespace {

using namespace std::string_view_literals;

// In the order of the enumerators; a missing word would leave an empty one, which the tests look for.
template <class Enum>
constexpr std::array<std::string_view, 0> words{};
template <>
constexpr std::array words<Phase>{"guard"sv, "lift"sv, "up"sv,    "pull-back"sv,
                                  "drop"sv,  "gap"sv,  "hands"sv, "up or pull-back"sv};
template <>
constexpr std::array words<Moment>{"lift"sv, "gap"sv, "drop"sv};
template <>
constexpr std::array words<AttackKind>{"single"sv, "rebound"sv, "carry"sv, "reset"sv, "leg-to-hands"sv, "feint"sv};
template <>
constexpr std::array words<CameKind>{"nothing"sv,      "single"sv, "second-lift"sv, "carry"sv,     "reset"sv,
                                     "leg-to-hands"sv, "feint"sv,  "bounce"sv,      "impossible"sv};
template <>
constexpr std::array words<AttackSource>{"opponent"sv, "partner"sv};
template <>
constexpr std::array words<StartKind>{"random"sv,    "pattern"sv,    "drawn"sv,         "hunted"sv,
                                      "tapped"sv,    "free"sv,       "coin"sv,          "lure"sv,
                                      "countered"sv, "stepped at"sv, "retreated from"sv};
template <>
constexpr std::array words<DrewBy>{"nothing"sv,      "step in"sv, "stop short"sv,     "ground given twice"sv,
                                   "ground given"sv, "strike"sv,  "change of pace"sv, "hand shown"sv,
                                   "hand hidden"sv};
template <>
constexpr std::array words<Zone>{"unknown"sv, "inside"sv, "between"sv, "beyond"sv, "back"sv};
template <>
constexpr std::array words<RungAim>{"answer"sv, "range"sv, "leave"sv, "edge"sv};
template <>
constexpr std::array words<AtEdge>{"not asked"sv, "elsewhere"sv, "led"sv, "crowded"sv, "unknown"sv};
template <>
constexpr std::array words<Counter>{"front-hand"sv, "back-hand"sv, "front-leg"sv, "back-leg"sv, "spin"sv};
template <>
constexpr std::array words<Stance>{"closed"sv, "open"sv};
template <>
constexpr std::array words<Side>{"left"sv, "right"sv};
template <>
constexpr std::array words<Verdict>{"on time"sv, "around"sv,      "clash"sv,   "early"sv, "late"sv,
                                    "missed"sv,  "wrong pad"sv,   "no step"sv, "held"sv,  "took the feint"sv,
                                    "got hit"sv, "gave ground"sv, "void"sv};
template <>
constexpr std::array words<VoidReason>{
    "none"sv,      "board_reset"sv,  "link_lost"sv, "clock_jump"sv,  "bound_too_wide"sv,    "impossible_gates"sv,
    "coach"sv,     "lamps_silent"sv, "cue_late"sv,  "cue_missing"sv, "impossible_stamps"sv, "impossible_leg"sv,
    "no_attack"sv, "other_athlete"sv};
template <>
constexpr std::array words<SessionEnd>{"finished"sv, "cancelled"sv,        "rig gone"sv,     "stopped"sv,
                                       "no cue"sv,   "no partner gates"sv, "no edge gates"sv};
template <>
constexpr std::array words<PadRole>{"high left"sv, "high right"sv, "low left"sv, "low right"sv};
template <>
constexpr std::array words<GateRole>{"near"sv, "far"sv, "back"sv,  "line"sv,
                                     "low"sv,  "hip"sv, "hands"sv, "partner's back"sv};
template <>
constexpr std::array words<LampRole>{"foot"sv, "hip"sv, "head"sv, "ready"sv, "partner"sv};
template <>
constexpr std::array words<OnsetSource>{"lamp"sv, "sound"sv, "screen"sv, "gate"sv, "tap"sv};
template <>
constexpr std::array words<Sign>{"no sign"sv, "maybe"sv, "yes"sv};
template <>
constexpr std::array words<SignKind>{"can be timed"sv, "can be read"sv};

template <class Enum>
std::string_view word_of(Enum value) {
    const auto index = static_cast<std::size_t>(value);
    return index < words<Enum>.size() ? words<Enum>[index] : "unknown"sv;
}

}  // namespace

template <class Enum>
std::optional<Enum> from_word(std::string_view text) {
    for (std::size_t i = 0; i < words<Enum>.size(); ++i)
        if (words<Enum>[i] == text) return static_cast<Enum>(i);
    return std::nullopt;
}

#define BREAKSTEP_WORDS(Enum)                                    \
    std::string_view word(Enum value) { return word_of(value); } \
    template std::optional<Enum> from_word<Enum>(std::string_view);
BREAKSTEP_WORDS(Phase)
BREAKSTEP_WORDS(Moment)
BREAKSTEP_WORDS(AttackKind)
BREAKSTEP_WORDS(CameKind)
BREAKSTEP_WORDS(AttackSource)
BREAKSTEP_WORDS(StartKind)
BREAKSTEP_WORDS(DrewBy)
BREAKSTEP_WORDS(Zone)
BREAKSTEP_WORDS(RungAim)
BREAKSTEP_WORDS(AtEdge)
BREAKSTEP_WORDS(Counter)
BREAKSTEP_WORDS(Stance)
BREAKSTEP_WORDS(Side)
BREAKSTEP_WORDS(Verdict)
BREAKSTEP_WORDS(VoidReason)
BREAKSTEP_WORDS(SessionEnd)
BREAKSTEP_WORDS(PadRole)
BREAKSTEP_WORDS(GateRole)
BREAKSTEP_WORDS(LampRole)
BREAKSTEP_WORDS(OnsetSource)
BREAKSTEP_WORDS(Sign)
BREAKSTEP_WORDS(SignKind)
#undef BREAKSTEP_WORDS

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

}  // namespace breakstep
