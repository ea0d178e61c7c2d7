// Who and what a journal speaks of: sessions, athletes, boards, evenings, reps, a rig's channels and who takes part.
// Random ids, never names (events.hpp). Pure values, any thread.
#pragma once

#include <cstdint>

#include "core/time.hpp"
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

}  // namespace breakstep
