// The journal: everything that happened in a session, in order. `score` reads it and nothing else; the store keeps it.
//
// An event is a plain value whose fields() lists its members, for the codec, the tests and the pages. Times are integer
// nanoseconds. Names and call-signs never stand here: an athlete is a random id. A kind number is never used again for
// another meaning; a reader keeps kinds it does not know and skips them. A member that an event gains later goes into
// archive.added() with a default that means "not said" (codec.hpp). Pure values, any thread.
#pragma once

#include <cstdint>
#include <string>
#include <variant>
#include <vector>

#include "core/random.hpp"
#include "core/time.hpp"
#include "core/trade/drill.hpp"
#include "core/trade/vocabulary.hpp"

namespace breakstep {

enum class SessionId : std::uint64_t {};
enum class AthleteId : std::uint64_t {};
enum class BoardId : std::uint64_t {};
/// 0: none.
enum class EveningId : std::uint64_t {};
/// Counts from 0 through the whole session, over sets and voids.
enum class RepId : std::int32_t {};

enum class ChannelKind : std::uint8_t { pad = 1, gate = 2, lamp = 3, sync = 4 };

/// A channel of the rig. `role` is a PadRole, GateRole or LampRole by kind.
struct Channel {
    ChannelKind kind{};
    std::uint8_t index = 0;
    std::uint8_t role = 0;
    bool optional = false;
    Duration bound{};  ///< worst-case error of its stamps
    template <class Archive>
    void fields(Archive& archive) {
        archive(kind, index, role, optional, bound);
    }
    bool operator==(const Channel&) const = default;
};

enum class ParticipantRole : std::uint8_t { athlete, partner };

/// Whoever takes part in a session; the athlete whose session it is stands first.
struct Participant {
    ParticipantRole role{};
    AthleteId athlete{};
    Side lead = Side::right;
    template <class Archive>
    void fields(Archive& archive) {
        archive(role, athlete, lead);
    }
    bool operator==(const Participant&) const = default;
};

// ---- the session ----------------------------------------------------------------------------------------------------

/// When an athlete is told what a rep was worth. Every contact has its neutral click all the same.
enum class Feedback : std::uint8_t {
    at_close,  ///< once the rep has closed: the first way, and that of a drill which says nothing else
    at_once,  ///< 250 ms after contact at most; a strike before toe-off - lead at toe-off, a catch trial's at its close
    silent_first  ///< the first set has the click alone, and counts; those after it are told at once
};

/// First event of a session. The wall clock is kept for people (evenings, terms), never for scoring.
struct SessionBegan {
    static constexpr std::uint16_t kind = 1;
    SessionId session{};
    AthleteId athlete{};
    std::int64_t unix_seconds = 0;
    std::uint64_t seed = 0;
    Side athlete_lead = Side::right;
    Drill drill;
    std::string prior;                        ///< what earlier sessions taught about this athlete's rhythm; "" for none
    std::vector<Participant> participants{};  ///< empty: the athlete alone
    std::vector<BoardId> devices{};           ///< the boards that were there when it began; empty: not said
    std::string reading_method{};             ///< how the athlete is read; "": the plain method, one sign
    /// Which rules of the score hold, so that an older journal scores as it did. 0: the first. 1: a blow at a void
    /// attack stays with it, and stamps that run backwards void their rep.
    std::int32_t rules = 0;
    EveningId evening{};  ///< which evening runs it: rests and patience are the evening's then; 0: it runs alone
    Feedback feedback{};
    bool opens_video = false;  ///< begins with a flash and a click (VideoMark), for whoever films the hall
    template <class Archive>
    void fields(Archive& archive) {
        archive(session, athlete, unix_seconds, seed, athlete_lead, drill, prior);
        archive.added(participants, devices, reading_method, rules);
        archive.added(evening, feedback);
        archive.added(opens_video);
    }
};

struct SessionEnded {
    static constexpr std::uint16_t kind = 2;
    SessionEnd how{};
    template <class Archive>
    void fields(Archive& archive) {
        archive(how);
    }
};

/// A delay of the host that the sync input measured, used in this session: added to the sound's or screen's planned
/// onset. `spread` becomes the onset's uncertainty. Without one the uncertainty is unknown.
struct CalibrationUsed {
    static constexpr std::uint16_t kind = 3;
    OnsetSource source{};
    Duration delay{};
    Uncertainty spread = unknown_uncertainty;
    template <class Archive>
    void fields(Archive& archive) {
        archive(source, delay, spread);
    }
};

/// The flash on the screen, the click and the ready lamp that open a session or an evening, all at `at`: what a phone's
/// video of the hall is matched by.
struct VideoMark {
    static constexpr std::uint16_t kind = 4;
    TargetTime at;
    template <class Archive>
    void fields(Archive& archive) {
        archive(at);
    }
};

// ---- the rig --------------------------------------------------------------------------------------------------------

/// The rig is there and understood: at the start of each session and whenever it came back. `gates_broken` is the
/// snapshot at that time, bit i = channel index i.
struct RigConnected {
    static constexpr std::uint16_t kind = 10;
    BoardId board{};
    BootId boot{};
    TargetTime snapshot_at;
    std::uint8_t gates_broken = 0;
    std::vector<Channel> channels;
    template <class Archive>
    void fields(Archive& archive) {
        archive(board, boot, snapshot_at, gates_broken, channels);
    }
};

struct RigLost {
    static constexpr std::uint16_t kind = 11;
    VoidReason reason{};  ///< link_lost, board_reset or clock_jump
    template <class Archive>
    void fields(Archive& archive) {
        archive(reason);
    }
};

/// Events that the rig had to overwrite, or that died with a boot: sequence numbers [first, last] of `boot`.
struct EventsLost {
    static constexpr std::uint16_t kind = 12;
    BootId boot{};
    std::uint16_t first = 0, last = 0;
    template <class Archive>
    void fields(Archive& archive) {
        archive(boot, first, last);
    }
};

// Events of a rig name its board; 0 is a journal from before they did. Their times are of one boot of that board.

struct PadHit {
    static constexpr std::uint16_t kind = 13;
    TargetTime at;  ///< first crossing of the threshold
    std::uint16_t sequence = 0;
    PadRole pad{};
    std::uint16_t peak = 0;
    PadSet echoes = 0;  ///< other pads that rang with it
    BoardId board{};
    template <class Archive>
    void fields(Archive& archive) {
        archive(at, sequence, pad, peak, echoes);
        archive.added(board);
    }
};

struct GateEdge {
    static constexpr std::uint16_t kind = 14;
    TargetTime at;
    std::uint16_t sequence = 0;
    GateRole gate{};
    bool broken = false;  ///< false: restored
    BoardId board{};
    template <class Archive>
    void fields(Archive& archive) {
        archive(at, sequence, gate, broken);
        archive.added(board);
    }
};

struct SyncEdge {
    static constexpr std::uint16_t kind = 15;
    TargetTime at;
    std::uint16_t sequence = 0;
    bool rising = false;
    BoardId board{};
    template <class Archive>
    void fields(Archive& archive) {
        archive(at, sequence, rising);
        archive.added(board);
    }
};

/// A lamp order carried out: the confirmed onset. `lit`: bit i = LampRole i.
struct LampsSet {
    static constexpr std::uint16_t kind = 16;
    TargetTime at;
    std::uint16_t sequence = 0;
    std::uint16_t order = 0;
    std::uint8_t lit = 0;
    BoardId board{};
    template <class Archive>
    void fields(Archive& archive) {
        archive(at, sequence, order, lit);
        archive.added(board);
    }
};

struct LampsRefused {
    static constexpr std::uint16_t kind = 17;
    TargetTime at;
    std::uint16_t sequence = 0;
    std::uint16_t order = 0;
    std::uint8_t reason = 0;  ///< PROTOCOL.md's refusal number; 0: cancelled
    BoardId board{};
    template <class Archive>
    void fields(Archive& archive) {
        archive(at, sequence, order, reason);
        archive.added(board);
    }
};

/// An event of the rig that can't be used: its number counts, what it says does not.
enum class SkipReason : std::uint8_t {
    unknown_type,  ///< of a newer version of the protocol
    out_of_range   ///< a channel that was not announced, or a value outside its range
};
struct EventSkipped {
    static constexpr std::uint16_t kind = 20;
    TargetTime at;
    std::uint16_t sequence = 0;
    std::uint8_t type = 0;  ///< PROTOCOL.md's, 0x10 .. 0x1F
    SkipReason reason{};
    BoardId board{};
    template <class Archive>
    void fields(Archive& archive) {
        archive(at, sequence, type, reason, board);
    }
};

/// The clock's bound crossed the limit for cues (0.5 ms), either way.
struct ClockBound {
    static constexpr std::uint16_t kind = 18;
    TargetTime at;
    Uncertainty bound = unknown_uncertainty;
    template <class Archive>
    void fields(Archive& archive) {
        archive(at, bound);
    }
};

/// The rig's clock against the host's, as known when a rep is about to close: a host second is a rig second times
/// 1 + ppb / 1e9, give or take `bound` ppb (99 in 100). Verdicts, windows and reading stay in the rig's own ticks; the
/// durations of a result are scaled by it.
struct ClockRate {
    static constexpr std::uint16_t kind = 19;
    BootId boot{};
    std::int64_t ppb = 0, bound = 0;
    template <class Archive>
    void fields(Archive& archive) {
        archive(boot, ppb, bound);
    }
};

// ---- the drill ------------------------------------------------------------------------------------------------------

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
    template <class Archive>
    void fields(Archive& archive) {
        archive(set, begin, redrawn, reps);
        archive.added(reason);
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
    template <class Archive>
    void fields(Archive& archive) {
        archive(rep, set, number, catch_trial, start, trigger, asked, opponent_lead, onset, close, phases);
        archive.added(telegraphed, lean);
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
    CameKind came{};           ///< of a partner's rep: what the leg did
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
    template <class Archive>
    void fields(Archive& archive) {
        archive(set, pace, attempt, next_rep, random, lamps_left);
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

/// A rep whose attack is a partner's real leg: its phases are PhaseSeen, what came stands in its close. Right after
/// RepOpened, whose onset is the moment of the cue, or the lift where nobody cued.
struct LegExpected {
    static constexpr std::uint16_t kind = 45;
    RepId rep{};
    bool told = false;  ///< the partner was told what to do; else they kicked by themselves, and nothing was asked
    template <class Archive>
    void fields(Archive& archive) {
        archive(rep, told);
    }
};

/// A phase of a partner's leg began, told once it is certain. Those of a rep come in order of time; guard is its end.
struct PhaseSeen {
    static constexpr std::uint16_t kind = 46;
    RepId rep{};
    Phase phase{};
    TargetTime at;
    Uncertainty bound{};    ///< of the gate that saw it, or of the tap
    OnsetSource source{};  ///< gate or tap
    template <class Archive>
    void fields(Archive& archive) {
        archive(rep, phase, at, bound, source);
    }
};

/// The partner's cue of a rep began, where the athlete can't see it.
struct PartnerCued {
    static constexpr std::uint16_t kind = 47;
    RepId rep{};
    TargetTime at;
    Uncertainty uncertainty = unknown_uncertainty;
    OnsetSource source{};  ///< lamp (with the role partner), screen (a second display), tap (the coach's)
    template <class Archive>
    void fields(Archive& archive) {
        archive(rep, at, uncertainty, source);
    }
};

/// The coin drill: at `at` a secret coin cued the partner, or did nothing. Whether the athlete enters in the window
/// after it, fixed beforehand, is all that counts.
struct CoinThrown {
    static constexpr std::uint16_t kind = 48;
    std::int32_t trial = 0;  ///< from 0 through the session
    TargetTime at;
    bool cued = false;
    Duration from{}, to{};  ///< the window, since `at`
    template <class Archive>
    void fields(Archive& archive) {
        archive(trial, at, cued, from, to);
    }
};

/// A kind this version does not know: kept as it was, skipped by score.
struct UnknownEvent {
    static constexpr std::uint16_t kind = 0;
    std::uint16_t real_kind = 0;
    std::string bytes;
};

using JournalEvent =
    std::variant<UnknownEvent, SessionBegan, SessionEnded, CalibrationUsed, VideoMark, RigConnected, RigLost,
                 EventsLost, PadHit, GateEdge, SyncEdge, LampsSet, LampsRefused, ClockBound, ClockRate, SetPlanned,
                 SetEnded, RepOpened, PhaseBegan, RepClosed, RepVoided, StartStruck, IntervalCoin, CoachInput, CueOnset,
                 NudgeShown, EventSkipped, CueSourceChanged, SessionSuspended, SessionResumed, ContactSettled, LegExpected,
                 PhaseSeen, PartnerCued, CoinThrown>;

/// One line of the journal. `position` counts from 0 in the session without holes; `recorded` is the host's time at
/// which it came in (for a rig event: the arrival), for people and for captures, never for scores.
struct JournalRecord {
    std::int64_t position = 0;
    HostTime recorded;
    JournalEvent event;
};

/// The number under which encode()'s bytes are kept: the event's kind, and that they are framed. Of an unknown event
/// its own.
[[nodiscard]] std::uint16_t kind_of(const JournalEvent& event);
/// Its name in snake_case: "pad_hit"; "unknown" for unknown ones.
[[nodiscard]] std::string_view name_of(const JournalEvent& event);

/// The event as bytes, framed (codec.hpp). The same event gives the same bytes on every machine. Appends to `out`.
void encode(const JournalEvent& event, std::string& out);
/// Reads framed bytes, and the flat ones of the first layout, by their number. Fails (damaged) if the bytes are too few
/// or too many or a value is outside its enumeration; members that a newer version added are skipped. An unknown kind
/// comes back as UnknownEvent.
[[nodiscard]] Expected<JournalEvent> decode(std::uint16_t kind, std::string_view bytes);

}  // namespace breakstep
