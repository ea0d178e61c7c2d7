// The rig as a coach looks after it in an evening: whether it answers, how well its clock is known, each pad's last
// strike, each gate, what was noticed lately. Fed by the evening's owner with what the rig told, in sessions and
// outside them.
//
// Owned by the evening's owner, on its thread; what it gives out are plain values. Can't fail. Bounded: the last twelve
// notices.
#pragma once

#include <array>
#include <cstdint>
#include <deque>
#include <optional>
#include <string>
#include <vector>

#include "core/journal/events.hpp"
#include "link/link.hpp"

namespace breakstep {

/// A pad, gate or lamp of the rig that is there.
struct RigPartSeen {
    std::string kind, role;                     ///< "pad", "gate", "lamp", "sync"; "high left"
    std::int32_t strikes = 0;                   ///< a pad's, so far
    std::optional<std::int64_t> last_s{};       ///< whole seconds since a pad's last strike, or a gate's last move
    std::optional<std::int64_t> blocked_for{};  ///< a gate that is blocked: whole seconds
    bool operator==(const RigPartSeen&) const = default;
};

struct RigNoticeSeen {
    std::int64_t ago_s = 0;  ///< whole tens of seconds
    std::string words;
    bool operator==(const RigNoticeSeen&) const = default;
};

struct RigNowSeen {
    std::string board;  ///< "" before a rig answered
    bool answers = false;
    std::optional<std::int64_t> heard_s{};  ///< whole seconds since it was heard last, while it does not answer
    std::optional<double> bound_us{};       ///< of its clock; nothing while it is not known
    std::uint64_t frames = 0, damaged = 0, lost = 0;
    std::vector<RigPartSeen> parts;
    std::vector<RigNoticeSeen> notices;  ///< the newest first
    bool operator==(const RigNowSeen&) const = default;
};

class RigNow {
  public:
    void fold(const JournalEvent& event, HostTime now);
    void notice(const std::string& words, HostTime now);
    [[nodiscard]] RigNowSeen seen(const Link& link, HostTime now) const;

  private:
    struct Pad {
        std::int32_t strikes = 0;
        std::optional<HostTime> last;
    };
    struct Gate {
        bool broken = false;
        std::optional<HostTime> since;
    };
    std::array<Pad, 4> pads_{};  // by PadRole
    std::array<Gate, gate_role_count> gates_{};
    std::optional<HostTime> lost_at_;
    std::optional<BootId> boot_;
    std::deque<std::pair<HostTime, std::string>> notices_;
};

}  // namespace breakstep
