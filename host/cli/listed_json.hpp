// Lists as JSON: drills, ports, what a rig says of itself. One object with a line end each. Pure; any thread.
#pragma once

#include <string>
#include <vector>

#include "core/trade/drill.hpp"
#include "devices/serial/serial_port.hpp"
#include "link/link.hpp"

namespace breakstep {

[[nodiscard]] std::string drills_json(const std::vector<Drill>& drills);
[[nodiscard]] std::string ports_json(const std::vector<PortInfo>& ports);

/// What a check of a rig found.
struct RigCheck {
    std::string port;
    RigConnected rig;
    Duration ready_after{};  ///< from opening the port to a clock good enough for cues
    Uncertainty bound = unknown_uncertainty;
    LinkCounters link;
    std::optional<RigCounters> counters;
};
[[nodiscard]] std::string rig_check_json(const RigCheck& check);
/// One line for a rig event, without a line end inside; "" for kinds that are not shown.
[[nodiscard]] std::string rig_event_json(const LinkEvent& event);

}  // namespace breakstep
