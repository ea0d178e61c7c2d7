// Everything the athletes' screen can show, as one plain value. The engine fills a new one whenever something changes
// and hands it over; draw_stage() turns it into a picture for the moment the picture will be seen.
//
// Plain values, any thread; whoever made it owns it. The view holds the plan of an attack ahead of time (the screen
// must know it to be punctual), but draw_stage() shows past and present only. Only one thing speaks at a time: a
// message before a verdict, a verdict before a nudge.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "core/time.hpp"
#include "core/trade/drill.hpp"
#include "core/trade/vocabulary.hpp"
#include "report/drawing/attack_timeline.hpp"
#include "report/drawing/phase_strip.hpp"
#include "report/drawing/rhythm_lane.hpp"

namespace breakstep {

/// Which of the screens is up.
enum class StageScreen : std::uint8_t {
    live,     ///< the opponent, the room, verdicts; also while the three lamps count
    rest,     ///< between sets: what the set was, what to change, how long to breathe
    turns,    ///< between turns: who is next, who follows
    task,     ///< before a set: what is asked, until the first lamp
    summary,  ///< after a turn: how it went, until somebody strikes
    block,    ///< between the rig's blocks: what the hall does now, and its clock
    pairs,    ///< a class without a rig: what each pair's attacker does, or who changes over
};

/// Where the gates know the athlete to be.
enum class AthleteZone : std::uint8_t {
    unknown,
    inside_near,  ///< in reach of the kick
    between,      ///< near mark to far mark: one step outside it
    beyond_far,   ///< far mark to back mark
    beyond_back,
};

/// One attack on its way. `rep` names it in the onsets that come back.
struct StageAttack {
    std::uint32_t rep = 0;
    HostTime toe_off{};
    AttackTimeline timeline;  ///< empty: nothing comes, the lean was a lie
    Duration lean{};          ///< so long before toe-off the opponent leans; 0: it does not
};

/// What is asked in the set that comes: drawn, so that it is understood without its words.
struct StageTask {
    std::string says;       ///< what is asked, in one sentence
    AttackTimeline attack;  ///< the asked attack at its mean lengths: the foot's way is drawn from it
    MomentSet moments = 0;  ///< the moments that count, never empty
    bool around = false;    ///< a spin under the held leg is asked
    Counter counter = Counter::front_hand;
    PadSet pads = 0;      ///< 0: any
    bool strikes = true;  ///< false: room alone is asked, no blow
    Side athlete_lead = Side::right, opponent_lead = Side::right;
    bool both_leads = false;  ///< the opponent changes its lead
    bool feints = false;
    bool leans = false;  ///< the opponent gives itself away before it kicks
    int set = 0, sets = 0, reps = 0;
    Duration round{};     ///< without cues: so long, instead of so many reps; 0: by reps
    std::string also;     ///< what else is asked: "after two kicks: gap", "then call it"; mostly empty
    std::string caution;  ///< before an athlete's first set; else empty
    std::string prompt = "Strike a pad to start.";
    /// The attack is played once at a third of its speed from here on.
    std::optional<HostTime> watch_since;
};

/// How a turn went. It stands until somebody strikes.
struct StageSummary {
    std::string advice, reason;
    int on_time = 0, of = 0;       ///< of 0: nothing is counted here (children)
    int best_run = 0;              ///< children: good ones in a row
    std::vector<Verdict> answers;  ///< of the reps that count, in order; empty for children
    int last_on_time = 0, last_of = 0;
    std::vector<Verdict> last_answers;  ///< of the last time; empty: none
    std::string compared;               ///< "about as last time"
    std::vector<StripRep> reps;
    std::string next, then;  ///< call-signs; empty: nobody
    std::string prompt;      ///< "Strike a pad for your task."; empty: the evening is over
};

/// What the hall does while nobody is at the rig.
struct StageBlock {
    std::string name, next;  ///< "warm-up", "round 1"
    std::string what;        ///< "Footwork in front of the mirror."
    std::string rig;         ///< what to move on the rig meanwhile: "gates one hole up"; mostly empty
    HostTime begin{}, end{};
};

/// One pair of a class. Tiles stand where the pairs stand.
struct PairTile {
    int place = 0;  ///< from 1
    AttackKind kind = AttackKind::single;
    bool holds = false;            ///< nothing to do this time: the pair waits
    std::string attacks, defends;  ///< call-signs, at change over only
};

struct StagePairs {
    bool change_over = false;
    std::vector<PairTile> tiles;
    int cue = 0, cues = 0;
    HostTime begin{}, end{};  ///< of what stands: any moment of it is right to attack; of a change over, its time
    std::string words;        ///< "Any time in 3 s: attack"
};

struct StageVerdict {
    Verdict verdict = Verdict::void_rep;
    std::optional<Moment> asked;  ///< the asked moment, for "in the drop"
    std::optional<Phase> struck;  ///< the phase that the contact fell in, for "that was the drop"
    VoidReason reason = VoidReason::none;
    bool nothing_came = false;  ///< a catch trial: held, or struck although nothing came
    HostTime since{};           ///< shown whole from here, 900 ms, then faded in 150 ms
    bool child = false;         ///< in a child's words
    bool room = false;          ///< room alone was asked for, and a kick came: held is room kept
    bool retreated = false;     ///< beyond the far mark
    std::string beside{};       ///< of what else was asked: "and out"; mostly empty
    std::uint32_t rep = 0;      ///< whose it is; 0: not known
};

/// The count before a set: the first of three lamps is lit at `begin`, the others a step later each.
struct StageCount {
    HostTime begin{};
    Duration step{};
};

/// A habit told while it happens. Shown only in guard between reps.
struct StageNudge {
    std::string words;  ///< at most two: "Same beat"
    Sign sign = Sign::hunch;
    std::vector<Duration> entries;  ///< the last six entries, times in the set; true distances are drawn
    HostTime since{};
};

/// A beat that the athlete sets for the opponent to follow, and then breaks. Shown only in guard.
struct StageLure {
    std::vector<Duration> yours, its;  ///< steps in, and where it expected them: times in the set, oldest first
    bool follows = false;
};

/// Something is wrong and someone must act. Stays until the view says otherwise.
struct StageMessage {
    std::string what;   ///< short, one line: "The rig does not answer."
    std::string to_do;  ///< "Check the cable."
};

struct StageRest {
    int set = 0, sets = 0;  ///< set 2 of 4
    std::string advice;     ///< one line: "Start while it is up, arrive as it drops."
    std::string reason;     ///< why: "3 clashes, 0.04 to 0.11 s before the hip line."
    std::vector<StripRep> reps;
    std::optional<RhythmLane> rhythm;  ///< of the drill so far; nothing: too few step-ins to say anything
    Sign read = Sign::none;            ///< can the choices be read; none is not shown
    std::string read_words;            ///< "after two retreats you go, 8 of 9"
    std::string read_asks = "Can you be read?";
    std::string next, then;   ///< call-signs; empty: nobody, or the same athlete goes on
    HostTime begin{}, end{};  ///< of the rest; end not after begin: no countdown
};

struct TurnRow {
    std::string athlete;
    int wait_minutes = 0;
    std::string before;  ///< what to change on the rig before this turn: "gates one hole up"; mostly empty
};

struct EveningBlock {
    std::string name;  ///< "warm-up", "round 2"
    int minutes = 0;
    double done = 0;  ///< 0..1
};

struct StageTurns {
    std::string club;
    std::string next;
    std::string drill;   ///< "drop and gap, back leg, closed stance"
    std::string prompt;  ///< "Strike a pad to start."
    std::vector<TurnRow> follows;
    int turns_done = 0, turns = 0;  ///< turns 0: not shown
    std::vector<EveningBlock> evening;
    int minutes_left = 0;
};

struct StageView {
    StageScreen screen = StageScreen::turns;

    std::string athlete;      ///< call-sign
    int rep = 0, reps = 0;    ///< "7 of 10"; rep 0 is not shown
    Side lead = Side::right;  ///< of the opponent; left mirrors the room
    bool opponent = true;     ///< false: a real partner attacks, no figure is drawn
    /// The attack under way and, once it is planned, the one to come; in order of toe_off, at most one begins while
    /// another plays (then the later one counts). Times are those of this host.
    std::vector<StageAttack> attacks;
    AthleteZone zone = AthleteZone::unknown;

    /// Verdicts must be at least 1 s apart: the caller's care. One for an attack that began later than `since` is
    /// never shown over it.
    std::optional<StageVerdict> verdict;
    std::optional<StageNudge> nudge;
    std::optional<StageLure> lure;
    std::optional<StageMessage> message;
    std::optional<StageCount> count;
    /// Calibration: instead of all else a white square on a dark screen while an attack plays, for the photodiode.
    bool patch = false;
    /// One quiet line about the rig for whoever can mend it; live: only while nothing plays and no verdict speaks.
    std::string notice;
    std::string prompt;  ///< live screen, no attack near: "Strike a pad to start."

    StageRest rest;
    StageTurns turns;
    StageTask task;
    StageSummary summary;
    StageBlock block;
    StagePairs pairs;
    bool leans = false;             ///< the drill has leans (FigurePose::watched)
    std::optional<HostTime> flash;  ///< from here a white square for a fifth of a second: what a film is matched by
    std::optional<bool> saved;      ///< nothing: no sign; true "saved"; false "saving"
};

}  // namespace breakstep
