// The evening's journal: who came, what was planned, who was called to the rig, what the coach asked and was answered.
// The evening fold (evening.hpp) is this journal folded, and nothing else; the store keeps it, so that a power cut
// costs nothing of it.
//
// Plain values that grow as the journal's do (core/journal/codec.hpp): a member that comes later goes into added(), a
// kind number is never used again. Athletes are random ids; a note is the coach's own words. Times are the evening's:
// since it began, by a clock that goes on through a power cut. Pure values, any thread.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "core/error.hpp"
#include "core/journal/events.hpp"
#include "core/time.hpp"

namespace breakstep::evening {

/// Since the evening began.
using EveningTime = Duration;

enum class BlockKind : std::uint8_t {
    hall,   ///< nobody is called to the rig: warm-up, pairs, drink, close
    rounds  ///< turns at the rig
};
enum class Who : std::uint8_t { all, juniors, adults };

/// A stretch of the evening.
struct Block {
    BlockKind kind{};
    Duration length{};
    std::string title;
    Who who = Who::all;  ///< rounds: who is called
    std::string drill;   ///< rounds: what all practise; "": each its own drill
    std::int32_t sets = 0,
                 reps = 0;    ///< rounds: asked of each; 0: as the drill says. Children get no more than their dose
    bool beyond_age = false;  ///< but for the coach's word: then as many as are asked, and that is noted
    template <class Archive>
    void fields(Archive& archive) {
        archive(kind, length, title, who, drill);
        archive.added(sets, reps, beyond_age);
    }
    bool operator==(const Block&) const = default;
};

struct EveningBegan {
    static constexpr std::uint16_t kind = 1;
    EveningId evening{};
    std::int64_t unix_seconds = 0;
    std::uint64_t seed = 0;
    std::vector<Block> blocks;
    template <class Archive>
    void fields(Archive& archive) {
        archive(evening, unix_seconds, seed, blocks);
    }
};

struct AthleteCame {
    static constexpr std::uint16_t kind = 2;
    AthleteId athlete{};
    std::int32_t age = 0;           ///< years; 0: not known
    std::int32_t height_order = 0;  ///< height bands in order, so that gates move once; 0: not known
    std::string drill{};            ///< its own tonight
    template <class Archive>
    void fields(Archive& archive) {
        archive(athlete, age, height_order);
        archive.added(drill);
    }
};
struct AthleteLeft {
    static constexpr std::uint16_t kind = 3;
    AthleteId athlete{};
    template <class Archive>
    void fields(Archive& archive) {
        archive(athlete);
    }
};

/// What an athlete is to do in this block. `beyond_age`: the coach asked for more than the age's dose.
struct DoseGiven {
    static constexpr std::uint16_t kind = 4;
    AthleteId athlete{};
    std::string drill;
    std::int32_t reps = 0, sets = 0;
    Duration work{};  ///< about how long a set takes, count included
    bool beyond_age = false;
    template <class Archive>
    void fields(Archive& archive) {
        archive(athlete, drill, reps, sets, work, beyond_age);
    }
};

struct BlockBegan {
    static constexpr std::uint16_t kind = 5;
    std::int32_t block = 0;
    template <class Archive>
    void fields(Archive& archive) {
        archive(block);
    }
};

/// The athlete's task is on the stage: a set of `session`, which begins (`is_new`) or goes on.
struct TurnCalled {
    static constexpr std::uint16_t kind = 6;
    AthleteId athlete{};
    SessionId session{};
    bool is_new = false;
    template <class Archive>
    void fields(Archive& archive) {
        archive(athlete, session, is_new);
    }
};
/// A pad was struck: the count runs.
struct SetBegan {
    static constexpr std::uint16_t kind = 7;
    SessionId session{};
    std::int32_t set = 0;
    template <class Archive>
    void fields(Archive& archive) {
        archive(session, set);
    }
};
struct SetDone {
    static constexpr std::uint16_t kind = 8;
    SessionId session{};
    std::int32_t set = 0;
    Duration work{};  ///< from the count to the set's end
    template <class Archive>
    void fields(Archive& archive) {
        archive(session, set, work);
    }
};
/// The rig is free again: the session stands aside, or is over.
struct StoodAside {
    static constexpr std::uint16_t kind = 9;
    SessionId session{};
    template <class Archive>
    void fields(Archive& archive) {
        archive(session);
    }
};
struct SessionOver {
    static constexpr std::uint16_t kind = 10;
    SessionId session{};
    SessionEnd how{};
    template <class Archive>
    void fields(Archive& archive) {
        archive(session, how);
    }
};
/// The count was called off before the set began: by leaving behind, or because the rig went away.
struct CountCancelled {
    static constexpr std::uint16_t kind = 17;
    SessionId session{};
    template <class Archive>
    void fields(Archive& archive) {
        archive(session);
    }
};
/// A set that another athlete made than was called, or the part of it that was made: its reps are void where they stood
/// and count in `in`, a session of `to`'s own. Said before anything is moved: what a cut left half done is done again.
struct SetMoved {
    static constexpr std::uint16_t kind = 11;
    SessionId session{};
    std::int32_t set = 0;
    AthleteId to{};
    SessionId in{};
    std::int64_t first = -1, last = -1;  ///< positions of the records that are copied; -1: not said
    template <class Archive>
    void fields(Archive& archive) {
        archive(session, set, to, in);
        archive.added(first, last);
    }
};

enum class Ask : std::uint8_t {
    next,        ///< the block is over
    skip,        ///< the athlete who is called is passed over, and called again later
    comes_back,  ///< one who was passed over, sore or away is to be called again
    someone_else,
    pause,
    go_on,
    void_last,
    take_back,
    repeat,  ///< one more set for the athlete of the last one
    note,
    sore,  ///< the turn ends, with all that was done
    end,
    tap,           ///< the coach calls the attack, in a drill that waits for it
    drill,         ///< the athlete's own drill from now on
    partner_next,  ///< what the partner is asked next, in order
    minutes        ///< how long a block lasts
};
enum class Hand : std::uint8_t { keyboard, pads, desk, program };
enum class AnswerKind : std::uint8_t { taken, refused, too_late };
/// Why a request was refused; words are made outside core.
enum class Why : std::uint8_t {
    none,
    over,       ///< the evening has ended
    no_turn,    ///< nobody is called
    set_runs,   ///< the set has begun
    not_here,   ///< no such athlete is here
    is_called,  ///< that athlete's turn it is anyway
    is_here,    ///< is in the turns already
    paused_already,
    not_paused,
    no_rep,          ///< no rep that could be void
    void_so,         ///< it is void already
    not_void,        ///< it is not void
    no_set,          ///< no set was done yet
    rig_has_next,    ///< the next athlete's set has begun since
    not_tapped,      ///< no drill that waits for a tap, or not now
    no_such_drill,   ///< nobody knows a drill of that name
    no_words,        ///< a note without a word
    one_for_all,     ///< the block has one drill for all: a drill of its own is for later ones
    no_partner,      ///< no drill in which a partner is cued, or not now
    no_such_attack,  ///< no kind of attack that this drill's partner is asked
    list_full,       ///< more than may be listed for a partner
    no_such_block    ///< no block of that number that is not over, or no such length
};
struct Request {
    Ask what{};
    AthleteId athlete{};  ///< of someone_else, comes_back, drill; sore: 0 is the one at the rig
    std::string text;     ///< of a note; a drill's name; of partner_next a list (partner_list.hpp); "2 15": minutes
    template <class Archive>
    void fields(Archive& archive) {
        archive(what, athlete, text);
    }
    bool operator==(const Request&) const = default;
};
struct Answer {
    AnswerKind kind{};
    Why why{};
    template <class Archive>
    void fields(Archive& archive) {
        archive(kind, why);
    }
    bool operator==(const Answer&) const = default;
};
struct Asked {
    static constexpr std::uint16_t kind = 12;
    Request request;
    Hand hand{};
    Answer answer;
    template <class Archive>
    void fields(Archive& archive) {
        archive(request, hand, answer);
    }
};

/// What the rig told while no session ran, as its journal event's bytes.
struct KeptOutside {
    static constexpr std::uint16_t kind = 13;
    std::uint16_t event = 0;
    std::string bytes;
    template <class Archive>
    void fields(Archive& archive) {
        archive(event, bytes);
    }
};
struct RigSeen {
    static constexpr std::uint16_t kind = 14;
    bool here = false;
    template <class Archive>
    void fields(Archive& archive) {
        archive(here);
    }
};
/// The program was cut off and goes on with the same evening. Whoever was called is called anew.
struct WentOn {
    static constexpr std::uint16_t kind = 15;
    std::int64_t unix_seconds = 0;
    template <class Archive>
    void fields(Archive& archive) {
        archive(unix_seconds);
    }
};
struct EveningEnded {
    static constexpr std::uint16_t kind = 16;
    bool by_coach = false;
    template <class Archive>
    void fields(Archive& archive) {
        archive(by_coach);
    }
};

/// A kind of a newer version: kept, and left alone.
struct UnknownKind {
    static constexpr std::uint16_t kind = 0;
    std::uint16_t real_kind = 0;
    std::string bytes;
};

using EveningEvent = std::variant<UnknownKind, EveningBegan, AthleteCame, AthleteLeft, DoseGiven, BlockBegan,
                                  TurnCalled, SetBegan, SetDone, StoodAside, SessionOver, SetMoved, Asked, KeptOutside,
                                  RigSeen, WentOn, EveningEnded, CountCancelled>;

/// One line of it. Positions count from 0 without holes.
struct EveningRecord {
    std::int64_t position = 0;
    EveningTime at{};
    EveningEvent event;
};

[[nodiscard]] std::uint16_t kind_of(const EveningEvent& event);
[[nodiscard]] std::string_view name_of(const EveningEvent& event);
/// Framed bytes, appended to `out`.
void encode(const EveningEvent& event, std::string& out);
/// Fails (damaged) as the journal's decode() does.
[[nodiscard]] Expected<EveningEvent> decode(std::uint16_t kind, std::string_view bytes);
/// Whom the event names; 0 for nobody. An erasure goes by it.
[[nodiscard]] AthleteId athlete_of(const EveningEvent& event);

}  // namespace breakstep::evening
