// The evening fold: evening(state, event) -> state, and what follows from a state. Who is here, the plan's blocks, the
// order of turns, who is at the rig, rests owed, a pause. A rest is somebody else's set: a session stands aside after a
// set and goes on after others' sets.
//
// Pure: events and times go in, commands come out; no clock, no device. What is decided is an event too (a command
// Record), and the state is the events folded, and nothing else: a journal that is folded again gives the state of
// before, which is how an evening goes on after a power cut. One Evening an evening, owned by the hall's owner
// (hall/evening/evening_owner.hpp), on the engine's thread.
#pragma once

#include <optional>
#include <string_view>
#include <variant>
#include <vector>

#include "core/evening/dose.hpp"
#include "core/evening/evening_events.hpp"
#include "core/trade/partner_list.hpp"
#include "core/trade/rules.hpp"

namespace breakstep::evening {

struct Person {
    AthleteId athlete{};
    std::int32_t age = 0, height_order = 0;
    std::string drill;  ///< its own; "": the club's choice
    bool here = true, sore = false, passed_over = false;
    bool stale = false;                ///< the session that stands aside is of another drill than it does now
    DoseGiven dose;                    ///< sets 0: nothing to do in this block
    std::int32_t sets_done = 0;        ///< of the dose
    std::int32_t turns = 0;            ///< of this drill tonight
    std::optional<SessionId> session;  ///< that stands aside or runs
    EveningTime rest_until{}, last_set{-1};
};

/// At the rig: `called` until a pad is struck, `running` to the set's end, `leaving` until the session stands aside.
enum class AtRig : std::uint8_t { nobody, called, running, leaving };

struct LastSet {
    AthleteId by{};
    SessionId session{};
    std::int32_t set = 0;
    Duration work{};
    bool done = true;  ///< to its end; else it was cut
};

struct State {
    EveningBegan began;
    std::vector<Person> people;  ///< in the order in which they came
    std::int32_t block = -1;     ///< that runs; -1 before the first
    EveningTime block_began{};
    bool block_over = false;  ///< by the coach
    AtRig rig = AtRig::nobody;
    AthleteId at_rig{};
    SessionId session{};
    std::int32_t set = -1;
    std::optional<AthleteId> made_by;    ///< the set that runs is this one's, said the coach
    EveningTime free_since{};            ///< nobody at the rig since
    std::optional<AthleteId> call_next;  ///< the coach wants this one at the rig
    bool summoned = false;               ///< a strike asked for the next task
    bool called_before = false;          ///< in this block
    std::optional<LastSet> last_set;
    bool paused = false, rig_here = true, over = false, by_coach = false;
    std::int32_t sets = 0, turns = 0;
    std::int32_t gates_for = 0;  ///< the place in the order of heights of who began a set last; 0: not known

    [[nodiscard]] const Person* find(AthleteId athlete) const;
    [[nodiscard]] const Block* current() const;
};

/// The fold. Events of a kind it does not know, or that can't be, change nothing.
void fold(State& state, const EveningEvent& event, EveningTime at);

/// To be put into the evening's journal, and folded.
struct Record {
    EveningEvent event;
};
/// A session begins: `dose` says what of, `silent` that its set is told nothing but the click.
struct Start {
    AthleteId athlete{};
    SessionId session{};
    DoseGiven dose;
    std::int32_t sets_left = 0;
    bool silent_first = false, words_at_once = false;
};
struct Resume {
    AthleteId athlete{};
    SessionId session{};
};
/// The session that runs stands aside, in the middle of a set if need be.
struct StandAside {};
/// One that stands aside is ended: its block is over.
struct End {
    SessionId session{};
};
struct Move {
    SessionId session{};
    std::int32_t set = 0;
    AthleteId from{}, to{};
};
struct VoidLast {
    SessionId session{};
    bool back = false;  ///< taken back
};
struct Pause {
    bool on = false;
};
/// Doses are to be given for the block that begins: the owner knows the drills.
struct GiveDoses {
    std::int32_t block = 0;
};
/// One athlete's dose is to be given anew: of another drill.
struct GiveDose {
    AthleteId athlete{};
};
struct TapAttack {};
/// What the partner is asked next, in order; `list.after`: after what is listed already.
struct AskPartner {
    PartnerList list;
};
struct Over {};
using Command = std::variant<Record, Start, Resume, StandAside, End, Move, VoidLast, Pause, GiveDoses, GiveDose,
                             TapAttack, AskPartner, Over>;

/// What is to be done now, one step: the owner carries it out and asks again until nothing comes. `fresh` is an id for
/// a session that may begin.
[[nodiscard]] std::vector<Command> next_step(const State& state, EveningTime now, SessionId fresh);
/// When next_step() may have something new though nothing happens.
[[nodiscard]] std::optional<EveningTime> next_due(const State& state);
/// Who would be called now, or once the first rest is over; for the stage.
[[nodiscard]] std::optional<AthleteId> next_up(const State& state, EveningTime now);
/// Everyone who owes sets in the block that runs, in the order in which they are likely to be called, but for who is at
/// the rig; and how long each still rests.
struct Following {
    AthleteId athlete{};
    Duration rests{};
};
[[nodiscard]] std::vector<Following> following(const State& state, EveningTime now);

/// What an answer hangs on beside the state: whether the drill that is asked for is known, whether an attack could be
/// tapped now.
struct Possible {
    bool drill = true, tap = true;
    Why partner = Why::none;  ///< why what the partner is to be asked next can't be
};
/// A request of any hand, its answer and what follows, the Record of Asked first. `last_void`: whether the last rep of
/// the evening is void by the coach; none: there is no rep.
struct Reply {
    Answer answer;
    std::vector<Command> commands;
};
[[nodiscard]] Reply ask(const State& state, const Request& request, Hand hand, EveningTime now,
                        std::optional<bool> last_void, Possible possible = {});

/// Who stands in the partner's box while `athlete` answers: somebody else of the same height, so that the gates stand
/// right for the leg, child with child; else of the nearest height. Of those the one who waits longest for the next
/// turn, so that who has just been there may rest. None: nobody else is here.
[[nodiscard]] std::optional<AthleteId> partner_for(const State& state, AthleteId athlete);

/// What a block's plan takes and what of it does not fit.
struct Fit {
    std::int32_t sets = 0;  ///< asked of all
    Duration needed{};      ///< for them one after the other, changes included
    Duration length{};      ///< of the block
    [[nodiscard]] std::int32_t sets_that_fit() const;
};
[[nodiscard]] Fit fit_of(const State& state, const Block& block);
/// "2 15": the second block lasts 15 minutes. None: no such words.
struct BlockMinutes {
    std::size_t block = 0;  ///< from 0
    Duration length{};
};
[[nodiscard]] std::optional<BlockMinutes> block_minutes_in(std::string_view text);
/// Whether a drill of one's own would be done in the block that runs, and in a later one.
[[nodiscard]] bool one_drill_for_all(const State& state);
[[nodiscard]] bool own_drills_follow(const State& state);
/// Whether the block calls such a one.
[[nodiscard]] bool calls(const Block& block, std::int32_t age);

}  // namespace breakstep::evening
