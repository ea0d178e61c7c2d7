// An athlete that does exactly what a script says, for runs whose answers are known: strikes and steps at chosen delays
// after chosen lamp changes, or at chosen times.
//
// Pure: true times are handed in; owned by SimulatedTarget or a test; one thread; calls in order of time.
#pragma once

#include <cstdint>
#include <optional>
#include <variant>
#include <vector>

#include "core/time.hpp"
#include "core/trade/lamp_code.hpp"
#include "devices/simulated/agenda.hpp"
#include "devices/simulated/body.hpp"

namespace breakstep {

struct ScriptStrike {
    PadRole pad = PadRole::high_left;
    double strength = 0.6;
};
/// Two legs pass a gate.
struct ScriptPass {
    GateRole gate = GateRole::near_mark;
    Duration between_legs = 90ms, beam = 50ms;
};
struct ScriptBeam {
    GateRole gate = GateRole::near_mark;
    bool blocked = false;
};
using ScriptDeed = std::variant<ScriptStrike, ScriptPass, ScriptBeam>;

/// `delay` (0 or more) after the lamp change number `change` (from 0, the first lift's) of attack number `attack` (from
/// 0, through all sets). Two attacks are told apart by 900 ms of dark, which no gap within an attack lasts.
struct AfterLamp {
    std::int32_t attack = 0, change = 0;
    Duration delay{};
    ScriptDeed deed;
};
struct AtTime {
    HostTime at;
    ScriptDeed deed;
};

struct Script {
    bool starts_sets =
        true;  ///< strikes a pad 1 s after the ready lamp alone is lit, again every 4 s while it stays so
    std::vector<AfterLamp> after_lamps;
    std::vector<AtTime> at_times;
};

class ScriptedAthlete {
  public:
    ScriptedAthlete(Script script, HostTime now);

    void lamps(HostTime at, LampSet lit);
    void due(HostTime now);
    [[nodiscard]] std::optional<HostTime> next_due() const { return agenda_.next(); }
    void take_acts(std::vector<AthleteAct>& out);
    void leave(HostTime) { agenda_.clear(); }

  private:
    struct StartStrike {};
    using Action = std::variant<StartStrike, ScriptDeed>;

    void happen(HostTime now, const StartStrike&);
    void happen(HostTime now, const ScriptDeed&);

    Script script_;
    Agenda<Action> agenda_;
    std::vector<AthleteAct> acts_;
    LampSet lit_ = 0;
    HostTime dark_since_;
    std::int32_t attack_ = -1, change_ = 0;
    bool after_count_ = false;
};

}  // namespace breakstep
