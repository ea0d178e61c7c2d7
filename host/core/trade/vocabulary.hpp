// The words of the trade, as types: phases, moments, attack kinds, counters, verdicts, roles. One spelling each, used
// on screen, in files and in code; word() gives it and *_from_word() reads it back (nullopt: no such word). Pure
// values, any thread.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string_view>

namespace breakstep {

/// What the opponent's leg (or hand) is doing. Open: lift, gap, drop. Closed: up, pull_back, hands.
/// `up_or_pull_back` is what gates see of a partner's leg above the hip.
enum class Phase : std::uint8_t { guard, lift, up, pull_back, drop, gap, hands, up_or_pull_back };

/// A phase in which a strike scores.
enum class Moment : std::uint8_t { lift, gap, drop };

enum class AttackKind : std::uint8_t { single, rebound, carry, reset, leg_to_hands, feint };

/// What a partner's leg did, as two gates tell it.
enum class CameKind : std::uint8_t {
    nothing,
    single,  ///< springs above the hip aren't told apart: a rebound comes as this
    second_lift,
    carry,
    reset,
    leg_to_hands,
    feint,
    bounce,
    impossible,
};

/// Why a leg's gates told what no leg can do.
enum class Impossible : std::uint8_t {
    none,
    blocked,          ///< a gate was broken when the rep opened, and stayed so
    hip_without_low,  ///< the hip broke while the foot was on the floor
    hip_too_late,     ///< the hip broke more than 400 ms after the foot left
    down_above_hip,   ///< the foot came down while the leg was above the hip
    edge_missing,     ///< a gate broke twice, or was restored twice
    never_down,       ///< the rep closed with the foot still off
    out_of_order,     ///< an edge before the one that came first, or of another boot of the rig
    flickering,       ///< more phases than a rep can hold
};
/// What happened, for a person: "the hip gate broke while the low one was whole".
[[nodiscard]] std::string_view reason(Impossible);

/// Did the partner do what was asked? Springs above the hip aren't told apart, so a rebound comes as a single.
[[nodiscard]] bool obeys(AttackKind asked, CameKind came);

/// Who attacks: the opponent of the plan, on lamps, sound and screen; or a partner's real leg between two gates.
enum class AttackSource : std::uint8_t { opponent, partner };

/// How an attack starts (the coach's list, the athlete's own act, ...).
enum class StartKind : std::uint8_t {
    random,
    pattern,
    drawn,
    hunted,
    tapped,
    free,            ///< a partner kicks when they like: the rep opens at the lift
    coin,            ///< a partner is cued, or not, by a secret coin
    lure,            ///< the opponent follows the athlete's beat: it kicks where the next step in is expected
    countered,       ///< the opponent answers the athlete's own strike
    stepped_at,      ///< of a rep alone: the opponent's stop kick at a step in
    retreated_from,  ///< of a rep alone: it hops in after who gives ground
};

/// Which act of the athlete's drew an attack.
enum class DrewBy : std::uint8_t {
    nothing,
    entry,
    stop_short,
    ground_given_twice,
    ground_given,
    strike,
    change_of_pace,  ///< a step in that leaves the beat of those before it
    hand_shown,      ///< the athlete's front hand: a gate of its own, else the coach's tap
    hand_hidden
};

/// Where the athlete is, by the gates. `unknown` until a gate or contact told.
enum class Zone : std::uint8_t { unknown, inside, between, beyond, back };

/// What a rung of the ladder takes for done.
enum class RungAim : std::uint8_t {
    answer,  ///< on time, or around; a feint: held
    range,  ///< in and out, no strike: between the marks at toe-off, not inside while the leg is up, home again in time
    leave,  ///< on time, and out of reach again in time
    edge,   ///< on time, soon after a partner was led to the end of their room from out of reach
};

/// Where a partner's attack came from, as the athlete's work: the end of the partner's room is their back mark.
enum class AtEdge : std::uint8_t {
    not_asked,
    elsewhere,  ///< in the midst of their room, or too long after they were at its end
    led,        ///< from its end, where they came while the athlete stood outside the near mark
    crowded,    ///< from its end, where they came while the athlete stood inside it
    unknown     ///< from its end; where the athlete stood then no gate tells
};

/// What the athlete answers with, as the drill expects it.
enum class Counter : std::uint8_t { front_hand, back_hand, front_leg, back_leg, spin };

/// Lead sides of the two: the same side forward is closed, opposite sides open.
enum class Stance : std::uint8_t { closed, open };

enum class Side : std::uint8_t { left, right };

enum class Verdict : std::uint8_t {
    on_time,
    around,
    clash,
    early,
    late,
    missed,
    wrong_pad,
    no_step,
    held,
    took_the_feint,
    got_hit,
    gave_ground,
    void_rep
};

enum class VoidReason : std::uint8_t {
    none,
    board_reset,
    link_lost,
    clock_jump,
    bound_too_wide,
    impossible_gates,
    coach,
    lamps_silent,       ///< lamps that were ordered and accepted never told that they were lit
    cue_late,           ///< a confirmed onset lay too far from its plan
    cue_missing,        ///< sound or screen, which were to cue it, never told that they did
    impossible_stamps,  ///< the rig's stamps ran backwards
    impossible_leg,     ///< a partner's gates told what no leg can do
    no_attack,          ///< the partner did not kick
    other_athlete       ///< it was somebody else's: the set stands in a session of theirs
};

/// How a session ended; one that was cut off has none.
enum class SessionEnd : std::uint8_t {
    finished,
    cancelled,
    rig_gone,
    stopped,
    cannot_cue,        ///< neither lamps nor sound nor screen could show an attack
    no_partner_gates,  ///< a partner's drill without a low and a hip gate that work
    no_edge_gates      ///< a drill of the edge without the partner's back mark, or without a near mark
};

enum class PadRole : std::uint8_t { high_left, high_right, low_left, low_right };
/// Low and hip: where a partner's leg passes; hands: where their hands do; the partner's back mark: the end of the room
/// behind them.
enum class GateRole : std::uint8_t { near_mark, far_mark, back_mark, attack_line, low, hip, hands, partner_back_mark };
inline constexpr std::size_t gate_role_count = 8;
/// Partner: seen by the partner alone.
enum class LampRole : std::uint8_t { foot, hip, head, ready, partner };
inline constexpr std::size_t lamp_role_count = 5;

/// Where the onset of a phase is known from, best first: the confirmed lamp, else sound, else screen; with a partner
/// the gate or the coach's tap.
enum class OnsetSource : std::uint8_t { lamp, sound, screen, gate, tap };

/// "You can be timed": on screen no sign / maybe / yes.
enum class Sign : std::uint8_t { none, hunch, tell };

/// What a sign is of: the tempo (can be timed) or the choices (can be read). Each has a promise of its own.
enum class SignKind : std::uint8_t { timed, read };

[[nodiscard]] constexpr bool is_open(Phase phase) {
    return phase == Phase::lift || phase == Phase::gap || phase == Phase::drop;
}
[[nodiscard]] constexpr bool is_closed(Phase phase) {
    return phase == Phase::up || phase == Phase::pull_back || phase == Phase::hands || phase == Phase::up_or_pull_back;
}

[[nodiscard]] std::string_view word(Phase);
[[nodiscard]] std::string_view word(Moment);
[[nodiscard]] std::string_view word(AttackKind);
[[nodiscard]] std::string_view word(CameKind);
[[nodiscard]] std::string_view word(AttackSource);
[[nodiscard]] std::string_view word(StartKind);
[[nodiscard]] std::string_view word(DrewBy);
[[nodiscard]] std::string_view word(Zone);
[[nodiscard]] std::string_view word(RungAim);
[[nodiscard]] std::string_view word(AtEdge);
[[nodiscard]] std::string_view word(Counter);
[[nodiscard]] std::string_view word(Stance);
[[nodiscard]] std::string_view word(Side);
[[nodiscard]] std::string_view word(Verdict);
[[nodiscard]] std::string_view word(VoidReason);
[[nodiscard]] std::string_view word(SessionEnd);
[[nodiscard]] std::string_view word(PadRole);
[[nodiscard]] std::string_view word(GateRole);
[[nodiscard]] std::string_view word(LampRole);
[[nodiscard]] std::string_view word(OnsetSource);
[[nodiscard]] std::string_view word(Sign);
[[nodiscard]] std::string_view word(SignKind);

/// The value whose word() is `text`, for any of the enumerations above.
template <class Enum>
[[nodiscard]] std::optional<Enum> from_word(std::string_view text);

}  // namespace breakstep
