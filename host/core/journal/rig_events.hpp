// What a rig reported, and how well its clock is known; how events grow stands in events.hpp. Events name their board;
// 0 is a journal from before they did. Their times are of one boot of that board. Pure values, any thread.
#pragma once

#include <cstdint>
#include <vector>

#include "core/journal/identities.hpp"

namespace breakstep {

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

}  // namespace breakstep
