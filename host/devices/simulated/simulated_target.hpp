// A rig, its line and an athlete in one: what stands at the other end of the host's port in a simulation. It speaks
// real bytes; nothing of the host is known to it.
//
// Pure: true times are handed in (a fast driver's virtual time, a pty server's clock); one thread; calls in order of
// time. The same settings and the same bytes in give the same bytes out.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <variant>
#include <vector>

#include "devices/simulated/athlete_model.hpp"
#include "devices/simulated/link_model.hpp"
#include "devices/simulated/partner_model.hpp"
#include "devices/simulated/rig_model.hpp"
#include "devices/simulated/scripted_athlete.hpp"

namespace breakstep {

/// What goes wrong, and when, after the simulation's begin.
enum class FaultKind : std::uint8_t {
    board_reset,   ///< the board boots anew
    unplug,        ///< the cable is pulled; the rig lives on by its own supply
    unplug_power,  ///< the cable carried the power too
    plug_in,
};
struct Fault {
    Duration after{};
    FaultKind kind{};
};

struct SimulatedTargetSettings {
    RigSettings rig;
    LinkModelSettings link;
    std::vector<Fault> faults;
};

/// The rig and line of a simulation, all from one seed: a clock off by up to 150 millionths, a USB adapter.
[[nodiscard]] SimulatedTargetSettings simulated_target_settings(std::uint64_t seed);
/// The same with what a partner needs beside the low and the hip gate: a lamp of their own, a gate for the hands, and
/// one at the end of the room behind them.
[[nodiscard]] SimulatedTargetSettings for_a_partner(SimulatedTargetSettings settings);

class SimulatedTarget {
  public:
    SimulatedTarget(const SimulatedTargetSettings& settings, HostTime begin);

    /// Another athlete steps up; whoever was there walks off.
    void set_athlete(HostTime now, const AthleteSettings& settings);
    void set_script(HostTime now, const Script& script);
    void no_athlete(HostTime now);

    /// What the athlete can see of the screen: when the opponent leans next, in place of what was said before. A line
    /// of its own, beside the rig's lamps.
    void screen_leans(HostTime now, std::vector<HostTime> at);
    /// Whether the screen says now that the opponent follows the athlete's beat.
    void screen_follows(HostTime now, bool follows);
    /// A partner steps into the box, or (none) out of it. The athlete sees their leg as it would see lamps.
    void set_partner(HostTime now, const std::optional<PartnerSettings>& settings);
    /// The partner's display says what to do at the next cue.
    void tell_partner(HostTime now, const AttackChoice& what);
    /// Null without one.
    [[nodiscard]] const PartnerModel* partner() const { return partner_ ? &*partner_ : nullptr; }

    /// The first of these bytes is written by the host now.
    void host_bytes(HostTime now, std::span<const std::uint8_t> bytes);
    void due(HostTime now);
    /// When due() or drain() has something to do.
    [[nodiscard]] std::optional<HostTime> next_due() const;
    /// Moves the bytes that have reached the host by `now` to the end of `out`.
    void drain(HostTime now, std::vector<std::uint8_t>& out);

    void reset_board(HostTime now);
    void plug(HostTime now, bool in);
    /// Whether the host's port is there: a driver closes and opens its end by it.
    [[nodiscard]] bool plugged() const { return link_.plugged(); }

    /// To do things to the rig by hand, and to compare with the truth.
    [[nodiscard]] RigModel& rig() { return rig_; }
    [[nodiscard]] const RigModel& rig() const { return rig_; }
    [[nodiscard]] const LinkModel& link() const { return link_; }

  private:
    using Athlete = std::variant<std::monostate, AthleteModel, ScriptedAthlete>;

    template <class Use>
    void with_athlete(Use use);
    [[nodiscard]] std::optional<HostTime> next_inside() const;
    void step(HostTime at);
    void pass_on(HostTime now);
    void show_athlete(HostTime at);
    void show_partner(HostTime now);
    void happen(HostTime now, FaultKind fault);

    RigModel rig_;
    LinkModel link_;
    Athlete athlete_;
    std::optional<PartnerModel> partner_;
    Place athlete_at_ = Place::beyond;  ///< as the partner saw it
    Agenda<FaultKind> faults_;
    std::vector<HostTime> leans_;  ///< still to come, in order
    bool follows_ = false;         ///< the screen says so
    HostTime seen_until_{};        ///< leans up to here were seen
    LampSet lit_ = 0;              ///< of the rig
    LampSet seen_ = 0;             ///< by the athlete: lamps and leg
    std::vector<std::uint8_t> bytes_;
    std::vector<LampChange> lamps_;
    std::vector<AthleteAct> acts_, acts_of_partner_;
};

}  // namespace breakstep
