// The evening as whoever looks at it sees it: stage, terminal, phones. One immutable snapshot with a number, made by
// the evening's owner on its thread; each reader keeps the one it got for as long as it likes. Plain values; any
// thread.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "core/evening/evening.hpp"
#include "core/score/score.hpp"
#include "hall/evening/rig_now.hpp"

namespace breakstep {

/// What whoever is called or at it has to do.
struct TaskSeen {
    std::string athlete, drill;                ///< call-sign; the drill's title
    std::int32_t set = 0, sets = 0, reps = 0;  ///< set from 1
    bool silent = false;                       ///< told nothing but the click, and every rep counts
    bool child = false;                        ///< under 15: no counts in public
    std::string partner{};                     ///< who kicks; "" where nobody does, or nobody else is here
    bool operator==(const TaskSeen&) const = default;
};

/// What the partner is to do now, for whatever the partner alone sees; never for the athlete's eyes.
struct PartnerCueSeen {
    std::string partner;  ///< call-sign
    std::string what;     ///< "a kick and a rebound"
    Side lead = Side::right;
    bool feint = false;
    HostTime at{}, until{};  ///< from when it may be done; it stands until then
    bool operator==(const PartnerCueSeen&) const = default;
};

/// What the partner is asked after that; the coach's alone.
struct PartnerNextSeen {
    std::string partner;
    std::vector<std::string> kinds;   ///< what may be listed, as partner_list.hpp reads it
    std::vector<std::string> listed;  ///< by the coach, the next one first
    std::string planned;              ///< what follows those by the plan; "": nothing
    bool operator==(const PartnerNextSeen&) const = default;
};

/// What is read of whoever is at the rig, or was there last; the coach's alone.
struct SignsSeen {
    std::string athlete;
    SessionId session{};
    Sign timed{}, read{};
    std::string timed_reason, read_reason;
    bool two_signs = false;  ///< read by its choices too
    std::int32_t windows = 0, caught = 0;
    double luck = 0;            ///< how many would be caught by luck
    std::string leads, reason;  ///< of a free exchange: who leads whom; "" in other drills
    bool operator==(const SignsSeen&) const = default;
};

struct FollowSeen {
    std::string athlete;
    std::int32_t wait_minutes = 0;  ///< about
    std::string gates;              ///< what is to be moved on the rig before it; mostly empty
    bool operator==(const FollowSeen&) const = default;
};

struct BlockSeen {
    std::string title;
    evening::BlockKind kind{};
    Duration length{};
    double done = 0;  ///< 0 .. 1
    bool operator==(const BlockSeen&) const = default;
};

/// The set that was made last, once it is over.
struct SummarySeen {
    std::string athlete;
    std::string partner;  ///< who kicked; empty: nobody
    SessionId session{};
    std::int32_t set = 0;  ///< from 1
    std::int32_t on_time = 0, scored = 0;
    bool child = false;
    bool operator==(const SummarySeen&) const = default;
};

/// Somebody who came tonight.
struct PersonSeen {
    AthleteId athlete{};
    std::string call_sign, drill;  ///< the drill's title
    std::int32_t sets_done = 0, sets = 0;
    bool here = true, sore = false, passed_over = false;
    bool operator==(const PersonSeen&) const = default;
};

struct EveningView {
    std::uint64_t number = 0;  ///< grows by one with each
    std::string block;         ///< its title; "" before the first and after the last
    evening::BlockKind kind{};
    Duration block_left{}, evening_left{};
    std::vector<BlockSeen> blocks;
    evening::AtRig rig{};
    std::string at_rig, next;  ///< call-signs; "" for nobody
    std::optional<TaskSeen> task;
    std::vector<FollowSeen> follows;  ///< who is next, and after
    std::string gates_to_move;        ///< before the one who is called, or is next, begins; mostly empty
    std::optional<SummarySeen> summary;
    std::optional<PartnerCueSeen> partner_cue;    ///< in a drill with a partner, while one stands
    std::optional<PartnerNextSeen> partner_next;  ///< in a drill whose partner is cued, while somebody is at the rig
    std::optional<SignsSeen> signs;
    RigNowSeen rig_now;
    std::vector<PersonSeen> people;              ///< in the order in which they came
    std::int32_t turns = 0, sets = 0, reps = 0;  ///< so far; reps: how many reps_since() knows
    bool paused = false, rig_here = true, over = false;
    bool by_coach = false;  ///< ended by the coach
    std::string said;       ///< the last answer to a request, in words

    /// But for the number.
    [[nodiscard]] bool same(const EveningView& other) const;
};

/// A rep as it is now. A later one of the same session and rep replaces it.
struct RepSeen {
    std::uint64_t number = 0;
    SessionId session{};
    AthleteId athlete{};
    RepResult result;
    bool first = false;  ///< its first word, by its first contact: the rep is not closed yet
};

/// What a partner is told to do: "a kick and a rebound".
[[nodiscard]] std::string words_of(const AttackChoice& attack);

/// "taken", "refused: it is void already", "too late: the set has begun".
[[nodiscard]] std::string words_of(const evening::Answer& answer);

}  // namespace breakstep
