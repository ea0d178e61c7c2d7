// The link: bytes from the rig become journal events in sequence, and orders become frames; the clock of the rig is
// fitted against the host's on the way. The one place that converts between TargetTime and HostTime (clock.hpp).
//
// Pure: bytes, times and the seed are handed in, frames are drained. One Link a port, owned by the engine, on the
// engine's thread. After port_closed (or a board's reset) it starts over by itself with the next bytes: hello,
// acknowledge, resend of what the rig kept; a rig that returns with the same board and boot goes on where it was.
// Nothing is dropped in silence: damaged, unknown, doubled and lost frames are counted.
//
// What a boot's end looks like: events that were held behind a hole come out first (the hole as EventsLost), then
// RigLost{board_reset} (also if the link was lost before), then EventsLost for what the rig had told of and never sent;
// later RigConnected with the new boot. Nothing of an old boot follows a RigConnected of a new one. A rig that was lost
// says RigConnected when it is back, also with the same boot; events from before that snapshot may follow it. Once a
// rig was taken, no other board is. What a rig had kept from before this link first met it is left to it.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <variant>
#include <vector>

#include "core/error.hpp"
#include "core/journal/events.hpp"
#include "core/time.hpp"
#include "core/trade/rules.hpp"
#include "link/clock.hpp"
#include "link/outbox.hpp"
#include "wire/wire.h"

namespace breakstep {

/// A rig as an earlier run of the program left it: everything of that boot up to `through` is on the disk.
struct KnownRig {
    BoardId board{};
    BootId boot{};
    std::uint16_t through = 0;
};

struct LinkSettings {
    Duration hello_period = 250ms;  ///< hello_request until a hello comes
    Duration burst_period = 20ms;   ///< the first pings after connecting, and all while the clock is not good
    std::int32_t burst_pings = 50;
    Duration ping_period = 250ms;  ///< afterwards, give or take 20 % so that it locks to nothing
    Duration byte_time = 20us;     ///< on the wire: 10 bits at 500,000 baud; found to be 0 on a pty by the replies
    Duration silence = 1s;         ///< no whole frame for so long, though pinged fast at the end: the rig is lost
    Duration cue_bound = bound_for_cues;  ///< cues may start once the clock's bound is under this
    Duration order_repeat = 15ms;     ///< an order not yet accepted is sent again after this (50 ms on a slow adapter)
    Duration resend_repeat = 30ms;    ///< a missing event is asked for again after this (50 ms on a slow adapter)
    bool slow_latency_timer = false;  ///< the adapter hands bytes over every 16 ms (also found by the replies): ping
                                      ///< every 40 ms, repeat later
    std::optional<BoardId> board;     ///< the rig that is wanted; another one is refused
    std::optional<KnownRig> known;    ///< its later events are asked for; without it they are left to the rig
    std::uint8_t pads_needed = 1;     ///< a rig with fewer is refused; 0 lets gates alone be watched
};

/// What the link could not use: another version, another board, no pads. Said once; the port may be closed.
struct RigRefused {
    Error error;
};
/// Answers to requests for the rig's own numbers; not journal events.
struct PadLevel {
    PadRole pad{};
    std::uint16_t level = 0, noise = 0;
};
struct RigCounters {
    std::array<std::uint16_t, WIRE_COUNTERS_SIZE> values{};  ///< by wire_counter
};
struct SettingValue {
    std::uint8_t key = 0, index = 0, status = 0;
    std::uint16_t value = 0;
};

/// Whatever happened on the link, in the order in which it became known; rig events in sequence.
using LinkEvent = std::variant<RigConnected, RigLost, EventsLost, PadHit, GateEdge, SyncEdge, LampsSet, LampsRefused,
                               EventSkipped, ClockBound, RigRefused, PadLevel, RigCounters, SettingValue>;

struct LinkCounters {
    std::uint64_t frames = 0;  ///< whole frames received
    std::uint64_t damaged = 0, unknown = 0;
    std::uint64_t bytes = 0, damaged_bytes = 0;  ///< received, and of damaged frames
    std::uint64_t skipped = 0;                   ///< events and answers of unknown types or with values that can't be
    std::uint64_t doubled = 0;                   ///< events received again
    std::uint64_t asked_again = 0;               ///< events asked for by resend
    std::uint64_t lost = 0;                      ///< events the rig had overwritten or that died with a boot
    std::uint64_t pings = 0, replies = 0;
    std::uint64_t resets = 0;  ///< boots seen after the first
    std::uint64_t clock_jumps = 0;
    std::uint64_t stray = 0;       ///< messages out of place: unknown channels, from before a greeting, echoes
    std::uint64_t unanswered = 0;  ///< lamp orders and requests of whose fate the rig said nothing
    std::uint64_t dropped = 0;     ///< frames that nobody drained
};

class Link {
  public:
    Link(const LinkSettings& settings, std::uint64_t seed);
    ~Link();
    Link(Link&&) noexcept;
    Link& operator=(Link&&) noexcept;

    void port_opened(HostTime now);
    void port_closed(HostTime now);
    /// Bytes as they were read; `arrived` as early as possible after the read. Any garbage is allowed.
    void bytes(HostTime arrived, std::span<const std::uint8_t> received);
    /// Call when next_due() has come (later is allowed, earlier does nothing).
    void due(HostTime now);
    [[nodiscard]] std::optional<HostTime> next_due() const;

    /// Moves the frames to be written, in order, to the end of `out`. The times of pings are taken from sent().
    void drain(std::vector<OutFrame>& out);
    /// The frame's first byte was handed to the port at `at` (as late as possible before the write).
    void sent(FrameId frame, HostTime at);
    /// Moves what happened to the end of `out`.
    void take(std::vector<LinkEvent>& out);

    /// Everything of `boot` up to `through` is safely kept: the rig may forget it. EventsLost counts up to its `last`.
    void committed(HostTime now, BootId boot, std::uint16_t through);
    /// The rig is not waited for any more: events held behind a hole come out, the hole as EventsLost.
    void give_up(HostTime now);

    /// Orders `lit` for the lamps in `affected` (bit i = LampRole i; roles the rig has not are left out) at `at`, which
    /// should lie 80 ms ahead or more. Sent again until accepted. Returns the order id that LampsSet and LampsRefused
    /// name, or 0 if the rig has none of these lamps, is not connected, or `at` is of another boot. The rig holds 16 at
    /// once; more wait here, in the order given.
    std::uint16_t order_lamps(HostTime now, TargetTime at, std::uint8_t affected, std::uint8_t lit);
    /// Takes back every order not yet carried out; LampsRefused with reason 0 tells of each that had reached the rig.
    void cancel_lamps(HostTime now);
    /// One more ping at `at`: its reply proves what the rig stamped before.
    void ask_ping(HostTime at);
    void request_counters(HostTime now);
    void set_levels(HostTime now, bool on);
    void set_setting(HostTime now, std::uint8_t key, std::uint8_t index, std::uint16_t value);
    void get_setting(HostTime now, std::uint8_t key, std::uint8_t index);

    /// Connected, acknowledged, and the clock fitted at least once.
    [[nodiscard]] bool connected() const;
    /// Everything stamped before this has been delivered in sequence (or said to be lost), except what the rig still
    /// holds back to find a pad's peak or a gate's state (20 ms at most). Moves on with each ping. nullopt while not
    /// connected.
    [[nodiscard]] std::optional<TargetTime> complete_until() const;

    /// nullopt while there is no fit for the current boot (or `time` is of another one).
    [[nodiscard]] std::optional<TargetReading> target_time_from(HostTime time) const;
    [[nodiscard]] std::optional<HostReading> host_time_from(TargetTime time) const;
    /// The bound at the newest exchange; unknown_uncertainty while there is no fit.
    [[nodiscard]] Uncertainty bound() const;
    /// The rate of the current boot's clock; nullopt while there is no fit.
    [[nodiscard]] std::optional<ClockRate> rate() const;

    [[nodiscard]] const LinkCounters& counters() const;
    [[nodiscard]] const std::optional<RigConnected>& rig() const;

  private:
    struct State;
    std::unique_ptr<State> state_;
};

}  // namespace breakstep
