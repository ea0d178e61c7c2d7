// A simulated rig, by bytes alone: everything PROTOCOL.md asks of one, with a clock that drifts, sensors that are late
// by a little, pads that shake each other and gates that flicker.
//
// Pure: HostTime here stands for true time and is handed in; nothing is read from outside. Owned by SimulatedTarget or
// by a test; one thread. What happens to the rig (strikes, bodies, sounds, resets) may be told ahead of time and in any
// order; it happens when its time has come. bytes() and due() must be called in order of time. The same seed and the
// same calls give the same bytes. A frame that is damaged or not understood is counted and dropped, as the wire asks.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <variant>
#include <vector>

#include "core/random.hpp"
#include "core/time.hpp"
#include "devices/simulated/agenda.hpp"
#include "devices/simulated/crystal_clock.hpp"
#include "devices/simulated/event_ring.hpp"
#include "devices/simulated/gate_bench.hpp"
#include "devices/simulated/lamp_book.hpp"
#include "devices/simulated/pad_bench.hpp"
#include "devices/simulated/rig_settings.hpp"
#include "wire/wire.h"

namespace breakstep {

class RigModel {
  public:
    /// Powered on at `powered`: the first hello goes out then.
    RigModel(const RigSettings& settings, HostTime powered);

    /// The last of these bytes came in at `now`.
    void bytes(HostTime now, std::span<const std::uint8_t> received);
    void due(HostTime now);
    [[nodiscard]] std::optional<HostTime> next_due() const { return agenda_.next(); }
    /// Moves what the rig sends to the end of `out`, in whole frames. Call after each bytes() and due().
    void drain(std::vector<std::uint8_t>& out);

    // ---- what happens to the rig ----
    /// A blow of `strength` 0 .. 1 (1: as much as a pad can measure). A rig without that pad notices nothing.
    void strike(HostTime at, PadRole pad, double strength);
    /// A body begins or ceases to block a beam; each must cease as often as it began.
    void block_gate(HostTime at, GateRole gate, bool blocked);
    /// A body passes: two legs, the second `between_legs` after the first, each in the beam for `leg`.
    void cross_gate(HostTime at, GateRole gate, Duration between_legs, Duration leg);
    /// A cue is heard or seen at the sync input.
    void sound(HostTime at, Duration length);
    /// A new boot: new boot id, clock from 0; events, orders and lamps are gone. Silent for the boot time.
    void reset(HostTime at);
    void power(HostTime at, bool on);
    /// From now on, for orders that come in later (late) or fall due later (silent).
    void ail_lamps(const LampAilment& ailment) { ailment_ = ailment; }

    // ---- what can be seen of it ----
    void take_lamp_changes(std::vector<LampChange>& out);
    /// Everything numbered since the last call, with the truth.
    void take_truths(std::vector<RigTruth>& out);
    /// Every acknowledgement since the last call.
    void take_released(std::vector<RigReleased>& out);
    [[nodiscard]] bool powered() const { return powered_; }
    [[nodiscard]] BootId boot() const { return BootId{boot_}; }
    [[nodiscard]] const CrystalClock& clock() const { return clock_; }
    [[nodiscard]] std::uint8_t lamps_lit() const { return roles_lit_; }  ///< bit i: LampRole i
    [[nodiscard]] std::uint16_t counter(wire_counter which) const;

  private:
    struct Strike {
        std::size_t pad;
        double strength;
    };
    struct Level {
        std::size_t pad;
        std::uint16_t level;
        HostTime struck;
    };
    struct Body {
        std::size_t gate;
        int bodies;
    };
    struct Flicker {
        std::size_t gate;
        bool settles;
    };
    struct SoundEdge {
        bool rising;
        HostTime end;
    };
    struct Power {
        bool on;
    };
    struct CloseBlows {};
    struct Unlock {
        std::size_t gate;
    };
    struct SoundOver {
        HostTime end;
    };
    struct Hello {};
    struct Reply {
        std::uint16_t id;
        std::uint64_t received;
    };
    struct SendLevels {};
    struct CarryOut {};
    struct Booted {};
    /// Up to Power they happen to the rig; from CloseBlows on they are the firmware's own and die with its boot.
    using Action = std::variant<Strike, Level, Body, Flicker, SoundEdge, Power, CloseBlows, Unlock, SoundOver, Hello,
                                Reply, SendLevels, CarryOut, Booted>;

    void happen(HostTime now, const Strike&);
    void happen(HostTime now, const Level&);
    void happen(HostTime now, const Body&);
    void happen(HostTime now, const Flicker&);
    void happen(HostTime now, const SoundEdge&);
    void happen(HostTime now, const Power&);
    void happen(HostTime now, const CloseBlows&);
    void happen(HostTime now, const Unlock&);
    void happen(HostTime now, const SoundOver&);
    void happen(HostTime now, const Hello&);
    void happen(HostTime now, const Reply&);
    void happen(HostTime now, const SendLevels&);
    void happen(HostTime now, const CarryOut&);
    void happen(HostTime now, const Booted&);

    void handle(HostTime now, const wire_message& message);
    void handle_acknowledge(HostTime now, const wire_message& message);
    void handle_resend(HostTime now, const wire_message& message);
    void handle_order(HostTime now, const wire_message& message);
    void handle_cancel(HostTime now, const wire_message& message);
    void handle_setting(HostTime now, const wire_message& message);
    void handle_levels(HostTime now, bool on);

    void send(HostTime now, const wire_message& message);
    void send_greeting(HostTime now);
    void send_channel(HostTime now, std::uint8_t kind, std::size_t index, std::uint8_t role, Duration bound);
    void register_event(HostTime now, HostTime truth, wire_message event);
    void gate_changed(HostTime now, const std::optional<GateChange>& change);
    void lamps_changed(HostTime now);
    void begin_boot(HostTime now);

    RigSettings settings_;
    CrystalClock clock_;
    Random body_, firmware_, boots_;
    Agenda<Action> agenda_;
    wire_receiver receiver_{};
    EventRing ring_;
    PadBench pads_;
    GateBench gates_;
    LampBook lamps_;
    std::vector<std::uint8_t> out_;
    std::vector<LampChange> lamp_changes_;
    std::vector<RigTruth> truths_;
    std::vector<RigReleased> released_;
    LampAilment ailment_;
    std::vector<std::uint16_t> loudest_;  ///< largest level of each pad since its last pad_level
    std::array<std::uint16_t, WIRE_COUNTERS_SIZE> counters_{};
    HostTime line_free_{};
    std::uint32_t boot_ = 0;
    std::uint8_t roles_lit_ = 0;
    std::uint8_t replies_waiting_ = 0;
    bool powered_ = false, running_ = false, leave_ = false, levels_on_ = false;
};

}  // namespace breakstep
