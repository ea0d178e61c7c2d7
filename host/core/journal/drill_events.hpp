// What a drill planned, cued and was told: sets, reps, borders, coins, the coach; how events grow stands in events.hpp.
// Times are of the rig's boot. Pure values, any thread.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "core/journal/identities.hpp"
#include "core/random.hpp"
#include "core/trade/drill.hpp"

namespace breakstep {

/// A set's onsets, drawn before it starts (random, pattern), or drawn again after a void. One per rep still to come,
/// in order; for a catch trial `onset` is where its wait begins and `close` its cap. Only scheduled starts stand here;
/// drawn, hunted and tapped attacks depend on the athlete or the coach and are announced by RepOpened alone.
struct PlannedRep {
    RepId rep{};
    TargetTime onset, end;  ///< toe-off; the attack's scheduled end
    bool catch_trial = false;
    bool telegraphed = false;  ///< the opponent leans at `lean`; of a catch trial: a lie that ends in nothing
    TargetTime lean{};
    template <class Archive>
    void fields(Archive& archive) {
        archive(rep, onset, end);
        archive.added(catch_trial);
        archive.added(telegraphed, lean);
    }
};

/// Why a set's plan was drawn anew. Never a contact, and never where the athlete stood.
enum class RedrawReason : std::uint8_t {
    none,          ///< the set's first plan
    rig_back,      ///< the rig was away, and moments had passed or belonged to another boot
    bound_wide,    ///< a rep could not be placed well enough
    host_late,     ///< this computer was away until a cue could not be placed any more
    lamps_silent,  ///< the rig's lamps did not answer
    going_on,      ///< after a pause
    cut_set,       ///< the set was suspended in its middle, and goes on
    no_kick        ///< the partner did not kick, or not as a leg can: given again
};

struct SetPlanned {
    static constexpr std::uint16_t kind = 30;
    std::int32_t set = 0;  ///< from 0
    TargetTime begin;      ///< the count's end: the first wait runs from here
    bool redrawn = false;
    std::vector<PlannedRep> reps;
    RedrawReason reason{};  ///< of a plan that was redrawn; none there: a journal from before reasons were kept
    double pace = 1;          ///< every length of the set's attacks was scaled by it
    std::int32_t asked = -1;  ///< of a drill that throws a coin for each set: which of its attacks; -1: any
    template <class Archive>
    void fields(Archive& archive) {
        archive(set, begin, redrawn, reps);
        archive.added(reason);
        archive.added(pace, asked);
    }
};

struct SetEnded {
    static constexpr std::uint16_t kind = 31;
    std::int32_t set = 0;
    bool cancelled = false;
    template <class Archive>
    void fields(Archive& archive) {
        archive(set, cancelled);
    }
};

/// The decision to cue a rep, before its first onset. What is asked, and every phase with its planned length.
struct RepOpened {
    static constexpr std::uint16_t kind = 32;
    RepId rep{};
    std::int32_t set = 0;
    std::int32_t number = 0;   ///< within the set, from 1: the counter on the stage
    bool catch_trial = false;  ///< no attack comes; phases are empty
    StartKind start{};
    std::uint16_t trigger = 0;  ///< drawn, hunted: sequence of the event that drew it; 0 for none
    AttackChoice asked;         ///< kind, moment, counter and pads
    Side opponent_lead = Side::right;
    TargetTime onset;  ///< planned toe-off; for a catch trial, where its wait begins
    TargetTime close;  ///< planned: the attack's end + 500 ms; for a catch trial the wait's cap
    std::vector<AttackPhase> phases;
    bool telegraphed = false;  ///< as PlannedRep
    TargetTime lean{};
    /// The level: on time is a contact in this share of the asked moment, around its middle.
    double window = 1;
    /// Chosen beforehand to count for a rung; of a session from before this was said, the first set's do.
    bool counts = false;
    DrewBy drew_by{};      ///< drawn: the act
    TargetTime drawn_at{};  ///< and its moment
    template <class Archive>
    void fields(Archive& archive) {
        archive(rep, set, number, catch_trial, start, trigger, asked, opponent_lead, onset, close, phases);
        archive.added(telegraphed, lean);
        archive.added(window, counts, drew_by, drawn_at);
    }
};

/// A phase of a rep's attack began. `index` counts the rep's phases from 0; index == phases.size() is the attack's end
/// (phase guard). The only thing from which score knows phases.
struct PhaseBegan {
    static constexpr std::uint16_t kind = 33;
    RepId rep{};
    std::int32_t index = 0;
    Phase phase{};
    TargetTime at;
    Uncertainty uncertainty = unknown_uncertainty;
    OnsetSource source{};
    template <class Archive>
    void fields(Archive& archive) {
        archive(rep, index, phase, at, uncertainty, source);
    }
};

/// Everything up to the rep's end + 20 ms has arrived in sequence: score decides now.
struct RepClosed {
    static constexpr std::uint16_t kind = 34;
    RepId rep{};
    TargetTime end;  ///< rep's end by stamp: a contact at or after it belongs to the next (but see 300 ms in score.hpp)
    CameKind came{};          ///< of a partner's rep: what the leg did
    Impossible impossible{};  ///< why it can't be
    template <class Archive>
    void fields(Archive& archive) {
        archive(rep, end);
        archive.added(came, impossible);
    }
};

/// May come before or after the close. A coach's void lies over the measured verdict and can be taken back.
struct RepVoided {
    static constexpr std::uint16_t kind = 35;
    RepId rep{};
    VoidReason reason{};  ///< none: a coach's void is taken back
    template <class Archive>
    void fields(Archive& archive) {
        archive(rep, reason);
    }
};

/// The athlete struck a pad to start; the three-lamp count follows.
struct StartStruck {
    static constexpr std::uint16_t kind = 36;
    std::int32_t set = 0;
    TargetTime at;
    template <class Archive>
    void fields(Archive& archive) {
        archive(set, at);
    }
};

/// Drawn and hunted drills: before each interval from entry to entry a secret coin decides whether it may be cued at
/// all. Holds for the interval that begins with the entry whose near-mark break is `entry`.
struct IntervalCoin {
    static constexpr std::uint16_t kind = 37;
    std::uint16_t entry = 0;  ///< sequence of the near-mark break
    bool may_be_cued = false;
    template <class Archive>
    void fields(Archive& archive) {
        archive(entry, may_be_cued);
    }
};

/// Something the coach did: a tap of an attack, a pause, a stop.
/// tap_hands: the partner's hands follow, where no gate sees them.
enum class CoachAct : std::uint8_t { tap_attack, pause, go_on, stop, tap_hands };
struct CoachInput {
    static constexpr std::uint16_t kind = 38;
    CoachAct act{};
    std::int32_t choice = 0;  ///< tap_attack: index of the drill's attack
    template <class Archive>
    void fields(Archive& archive) {
        archive(act, choice);
    }
};

/// An onset of a host-made cue, confirmed by the sound or screen device and converted. Kept beside PhaseBegan so that
/// sound and screen can be compared with the lamp.
struct CueOnset {
    static constexpr std::uint16_t kind = 39;
    RepId rep{};
    std::int32_t index = 0;
    OnsetSource source{};
    TargetTime at;
    Uncertainty uncertainty = unknown_uncertainty;
    std::int64_t frame = 0;  ///< AudioFrame, or the frame count of the screen
    template <class Archive>
    void fields(Archive& archive) {
        archive(rep, index, source, at, uncertainty, frame);
    }
};

/// A nudge was shown to the athlete.
struct NudgeShown {
    static constexpr std::uint16_t kind = 40;
    TargetTime at;
    Sign sign{};
    template <class Archive>
    void fields(Archive& archive) {
        archive(at, sign);
    }
};

/// From here on attacks are cued by another device: the lamps did not answer.
struct CueSourceChanged {
    static constexpr std::uint16_t kind = 41;
    OnsetSource source{};
    template <class Archive>
    void fields(Archive& archive) {
        archive(source);
    }
};

/// The session stands aside for others' sets; its journal goes on with SessionResumed. What conduct knows and no other
/// record tells, so that another process can go on too.
struct SessionSuspended {
    static constexpr std::uint16_t kind = 42;
    std::int32_t set = 0;      ///< the set that comes next, or was cut
    double pace = 1;           ///< of that set
    std::int32_t attempt = 0;  ///< plans drawn for it so far; 0: it has not begun
    std::int32_t next_rep = 0;
    RandomState random;
    bool lamps_left = false;  ///< attacks are not cued by lamps any more
    double window = 1;        ///< the level that follows, as it stood
    template <class Archive>
    void fields(Archive& archive) {
        archive(set, pace, attempt, next_rep, random, lamps_left);
        archive.added(window);
    }
};

/// It goes on. RigConnected and ClockBound follow, if the rig is there.
struct SessionResumed {
    static constexpr std::uint16_t kind = 43;
    bool other_process = false;  ///< this program was not the one that suspended it
    template <class Archive>
    void fields(Archive& archive) {
        archive(other_process);
    }
};

/// Everything up to `through` that belongs to the first contact of an open rep has arrived: its word may be given by
/// the borders confirmed so far. The rep's close decides as ever.
struct ContactSettled {
    static constexpr std::uint16_t kind = 44;
    RepId rep{};
    TargetTime through;
    template <class Archive>
    void fields(Archive& archive) {
        archive(rep, through);
    }
};

}  // namespace breakstep
