// The link: bytes from the rig become journal events in sequence, and orders become frames; the clock of the rig is
// fitted against the host's on the way. The one place that converts between TargetTime and HostTime (clock.hpp).
//
// Pure: bytes, times and the seed are handed in, frames are drained. One Link a port, owned by the engine, on the engine's
// thread. After port_closed (or a board's reset) it starts over by itself with the next bytes: hello, acknowledge, resend of
// what the rig kept; a rig that returns with the same board and boot goes on where it was. Nothing is dropped in
// silence: damaged, unknown, doubled and lost frames are counted.
#pragma once

#include <array>
#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <variant>
#include <vector>

#include "core/error.hpp"
#include "core/events.hpp"
#include "core/time.hpp"
#include "wire/wire.h"

namespace breakstep {

struct LinkSettings {
    Duration hello_period = 250ms;      ///< hello_request until a hello comes
    Duration burst_period = 20ms;       ///< the first pings after connecting
    std::int32_t burst_pings = 50;
    Duration ping_period = 250ms;       ///< afterwards, give or take 20 % so that it locks to nothing
    Duration byte_time = 20us;          ///< on the wire: 10 bits at 500,000 baud; 0 on a pty
    Duration silence = 1s;              ///< no byte for so long: the rig is lost
    Duration cue_bound = 500us;         ///< cues may start once the clock's bound is under this
    Duration order_repeat = 15ms;       ///< an order not yet accepted is sent again after this
    bool slow_latency_timer = false;    ///< the adapter hands bytes over every 16 ms: ping every 100 ms, wider bounds
    std::optional<BoardId> board;       ///< the rig that is wanted; another one is refused
};

/// Names a frame handed out by drain(), so that sent() can tell when its first byte was written.
enum class FrameId : std::uint32_t {};

struct OutFrame {
    FrameId id{};
    std::array<std::uint8_t, WIRE_FRAME_MAX> bytes{};
    std::uint8_t size = 0;
};

/// What the link could not use: another version, another board. The port may be closed.
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
                               ClockBound, RigRefused, PadLevel, RigCounters, SettingValue>;

struct LinkCounters {
    std::uint64_t frames = 0;            ///< whole frames received
    std::uint64_t damaged = 0, unknown = 0;
    std::uint64_t doubled = 0;           ///< events received again
    std::uint64_t asked_again = 0;       ///< events asked for by resend
    std::uint64_t lost = 0;              ///< events the rig had overwritten or that died with a boot
    std::uint64_t pings = 0, replies = 0;
    std::uint64_t resets = 0;            ///< boots seen after the first
    std::uint64_t clock_jumps = 0;
    std::uint64_t stray = 0;             ///< events of unknown channels or from before a greeting
};

/// A time converted to the other clock, with the half-width that holds the truth 99 times in 100.
struct HostReading {
    HostTime at;
    Uncertainty bound{};
};
struct TargetReading {
    TargetTime at;
    Uncertainty bound{};
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

    /// Everything of `boot` up to `through` is safely kept: the rig may forget it.
    void committed(BootId boot, std::uint16_t through);

    /// Orders `lit` for the lamps in `affected` (bit i = LampRole i; roles the rig has not are left out) at `at`, which
    /// should lie 80 ms ahead or more. Sent again until accepted. Returns the order id that LampsSet and LampsRefused
    /// name, or 0 if the rig has none of these lamps or is not connected.
    std::uint16_t order_lamps(HostTime now, TargetTime at, std::uint8_t affected, std::uint8_t lit);
    /// Takes back every order not yet carried out.
    void cancel_lamps(HostTime now);
    void request_counters(HostTime now);
    void set_levels(HostTime now, bool on);
    void set_setting(HostTime now, std::uint8_t key, std::uint8_t index, std::uint16_t value);
    void get_setting(HostTime now, std::uint8_t key, std::uint8_t index);

    /// Connected, acknowledged, and the clock fitted at least once.
    [[nodiscard]] bool connected() const;
    /// Everything stamped before this has been delivered in sequence, except what a pad still holds back to find its
    /// peak (20 ms at most). nullopt while not connected.
    [[nodiscard]] std::optional<TargetTime> complete_until() const;

    /// nullopt while there is no fit for the current boot (or `time` is of another one).
    [[nodiscard]] std::optional<TargetReading> target_time_from(HostTime time) const;
    [[nodiscard]] std::optional<HostReading> host_time_from(TargetTime time) const;
    /// The bound at the newest exchange; unknown_uncertainty while there is no fit.
    [[nodiscard]] Uncertainty bound() const;

    [[nodiscard]] const LinkCounters& counters() const;
    [[nodiscard]] const std::optional<RigConnected>& rig() const;

  private:
    struct State;
    std::unique_ptr<State> state_;
};

}  // namespace breakstep
