// Every constant that is a rule of the game or of the clock, once: how long things wait, hold and count, each with its
// source. "Ours" is our own decision, made here and open to a better one; "common practice, no source" is what halls
// do. What a coach may set has its default in drill.hpp and in opponent.cpp; what only one file's arithmetic needs
// stays there.
//
// Values; any thread. Changing one that score reads changes what older journals score: see rules_of_today.
#pragma once

#include <cstddef>
#include <cstdint>

#include "core/time.hpp"

namespace breakstep {

// Cues.

/// Every cue is placed at least this far ahead: the measured worst of link and sound, with room for one resend.
inline constexpr Duration cue_ahead = 80ms;
/// A rep's orders leave this long before its first border: four resends of an order fit in before cue_ahead.
inline constexpr Duration open_ahead = 400ms;
/// Where the opponent leans before toe-off, a rep's orders leave so long before it: the screen must know the lean.
inline constexpr Duration open_ahead_of_lean = 800ms;
/// A lean that ends in nothing: its rep closes so long after the toe-off that did not come; who fell for it has struck
/// by then. Ours.
inline constexpr Duration after_lie = 700ms;
/// A clock must be as good as this before cues start. Ours.
inline constexpr Uncertainty bound_for_cues = 500us;
/// A lamp that lit so far from its plan showed another attack than the one that was planned. Ours.
inline constexpr Duration late_lamp = 20ms;
/// After so many reps in a row with silent lamps another device cues. Ours.
inline constexpr std::int32_t silent_reps_max = 2;
/// The lamp that says "strike a pad to start" is no cue of a moment: refused as too late it is ordered again, later, so
/// many times. Ours.
inline constexpr Duration ready_again_ahead = 400ms;
inline constexpr std::int32_t ready_tries_max = 10;

// A set.

/// From the strike that starts a set to its count, and from one lamp of the count to the next. Ours.
inline constexpr Duration after_start_strike = 500ms;
inline constexpr Duration count_step = 700ms;
inline constexpr std::int32_t count_lamps_total = 3;
/// A word to the athlete is followed by no other for so long. Ours.
inline constexpr Duration nudge_gap = 5s;
/// A set waits so long for a rig that is away, or a clock that is not sure. Ours.
inline constexpr Duration rig_patience = 60s;
/// A strike that brings a task on the stage does not start it as well: not for so long. Ours.
inline constexpr Duration task_stands = 1500ms;
/// A session stands aside only so long after its last close: the blows of later_window, and as much as a pad may hold
/// back, have arrived then. Ours.
inline constexpr Duration aside_after_close = 320ms;

// An attack and what answers it.

/// A rep runs to its attack's end and this much more. Ours.
inline constexpr Duration after_attack = 500ms;
/// Contacts so soon after a rep's end belong to it as later contacts, and change no verdict. Ours.
inline constexpr Duration later_window = 300ms;
/// A stamp may arrive so much after a later one: a pad may hold an event back so long to find its peak (PROTOCOL.md).
inline constexpr Duration arrival_slack = 20ms;
/// Stamps that ran backwards by more than this are no line's doing: arrival_slack, and as much again. Ours.
inline constexpr Duration hold_slack = 40ms;
/// Contacts this close together on different pads are one strike felt twice. (The rig merges what its own window sees;
/// this is for what it could not.) Common practice, no source.
inline constexpr Duration merge_window = 10ms;
/// A phase that is said to have lasted longer is damage. Ours.
inline constexpr Duration longest_phase = 60s;
/// The spread of an untidy opponent's phases: a real beginner's. Common practice, no source.
inline constexpr double untidy_spread = 0.30;
/// Until then a blow may still be one with the first, and a pad may hold one back: no word before it.
inline constexpr Duration settled_after = merge_window + arrival_slack;

// Starts.

/// A drawn attack begins so long after the act that drew it. Ours.
inline constexpr Duration drawn_soonest = 200ms, drawn_latest = 600ms;
/// Without an act for so long after a close the opponent of a drawn or hunted drill attacks by itself, so that a
/// passive athlete is not left alone. Ours.
inline constexpr Duration longest_silence = 8s;
/// A tapped attack begins so long after the coach's tap. Ours.
inline constexpr Duration tap_ahead = 150ms;
/// Of a hunted drill's intervals so many are hunted; the others show how often chance catches. Ours.
inline constexpr double hunted_share = 0.5;

// Gates on the floor.

/// Breaks of one gate closer together are one pass: two legs. Common practice, no source.
inline constexpr Duration pass_window = 250ms;
/// Near and back mark are metres apart: no body breaks both so close together. Common practice, no source.
inline constexpr Duration two_places_window = 50ms;
/// In past the far mark and out again within this, with the near mark whole, is a stop short. Common practice, no
/// source.
inline constexpr Duration stop_short_limit = 1500ms;
/// The shortest way out of reach and in again, where the athlete's own is not known. Ours.
inline constexpr Duration usual_shortest = 400ms;

// A partner's leg between two gates.

/// A low gate broken for less is a bounce. Ours.
inline constexpr Duration bounce_under = 150ms;
/// A lift that becomes an attack reaches the hip within this. Ours.
inline constexpr Duration hip_within = 400ms;
/// An up is held, a carry, if one was asked for and the hip stayed broken for so long: the shortest carry of a
/// beginner.
inline constexpr Duration carry_from = 400ms;

/// A partner kicks at any time in this after the cue. Common practice of pairs, no source.
inline constexpr Duration partner_patience = 3s;
/// The partner's lamp is lit for so long. Ours.
inline constexpr Duration partner_lamp_lit = 600ms;
/// A foot that is off the floor for longer does not come down in this rep. Ours.
inline constexpr Duration never_down_after = 10s;

// A pace that follows the athlete, set by set. Common practice, no source.

/// Of at least so many reps.
inline constexpr std::int32_t reps_for_a_pace = 6;
/// From this share on time the pace rises, up to this share it falls, by this factor each time.
inline constexpr double pace_mastered = 0.80, pace_too_hard = 0.40, pace_step = 0.93;
/// No phase gets shorter or longer than these shares of its first length.
inline constexpr double pace_fastest = 0.70, pace_slowest = 1.40;

// A level that follows, rep by rep. Ours.

/// The window of the asked moment, a share of it around its middle, and its two steps together, of its logarithm.
inline constexpr double window_narrowest = 0.4, window_widest = 1.0, window_step = 0.16;
/// Of the reps of a set that follows so many stay at the drill's own level, in secret, and count for a rung.
inline constexpr double secret_share = 1.0 / 3;

// A lure.

/// Who has set no beat for so long after a close is attacked all the same, so that nobody stands there for ever. Ours.
inline constexpr Duration lure_patience = 25s;
/// Of one beat so many steps in at most are kept: nobody sets a longer one.
inline constexpr std::size_t lure_entries_max = 64;

// What is asked beside the strike.

/// In and out: home again, between the marks, so soon after the foot is down. Ours.
inline constexpr Duration home_within = 1s;
/// Led to the edge: answered so soon after the partner's back mark broke; what a drill may say otherwise. Ours.
inline constexpr Duration edge_answered_within = 1500ms;
/// The athlete calls a result so long after the attack's end; the next wait begins then, struck or not. Ours.
inline constexpr Duration call_within = 2500ms;
/// An answer to the athlete's own strike begins so long behind the end of the attack before, at least. Ours.
inline constexpr Duration behind_attack = 100ms;
/// A step off the line belongs to an attack from so long before its toe-off. Ours.
inline constexpr Duration line_before = 500ms;
/// After giving ground once the opponent hops in where it does; a strike that opens a door, and the attack at it, are
/// so far apart at least. Ours.
inline constexpr Duration door_after = 300ms;

// Drawing.

/// A change of pace: the two intervals before lie within this factor of each other, and the newest is so many times
/// their mean, or more; or its inverse, or less. Ours.
inline constexpr double same_pace = 1.25, other_pace = 1.6;
/// A hand that was in its gate for less was no hand shown. Ours.
inline constexpr Duration hand_shown_from = 300ms;
/// In a loud hall lamps tell a result for so long. Ours.
inline constexpr Duration result_lamps_lit = 250ms;

// Turns of an evening.

/// After a set a strike calls nobody for so long. Ours.
inline constexpr Duration dead_time = 3s;
/// From the end of a set to the next one's count, about: who comes walks up and strikes. Ours.
inline constexpr Duration change_time = 15s;

// Who leads whom.

/// Acts this near to the one before are the same act: a lift and the entry that it becomes. Ours.
inline constexpr Duration same_act = 250ms;

// What may be said of somebody.

/// A bet's wealth at which a sign is a hunch, and at which it is told: false for at most one in eight, one in twenty of
/// those who have no such habit (Ville's inequality).
inline constexpr double hunch_wealth = 8.0, tell_wealth = 20.0;

// Children: ours, anchored in the effort to pause of 1:2 to 1:4 of published bouts.

/// Younger than this.
inline constexpr std::int32_t junior_under_years = 15;
/// A nudge is never shown, while a drill runs, to who is younger than this. Ours.
inline constexpr std::int32_t nudge_from_years = 12;
inline constexpr std::int32_t junior_reps_max = 10, junior_sets_max = 4, junior_rest_to_work = 4;

}  // namespace breakstep
