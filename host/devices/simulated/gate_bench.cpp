#include "devices/simulated/gate_bench.hpp"

namespace breakstep {

bool GateBench::block(std::size_t index, int bodies) {
    Gate& gate = gates_[index];
    const bool before = gate.bodies > 0;
    gate.bodies += bodies;
    if (gate.bodies < 0) broken_invariant("a gate was cleared by more bodies than block it");
    return before != (gate.bodies > 0);
}

GateChange GateBench::report(Gate& gate, std::size_t index, HostTime stamp, HostTime now) {
    gate.reported = gate.dark;
    gate.locked_until = now + gate.debounce * 100us;
    return {index, stamp, gate.reported};
}

std::optional<GateChange> GateBench::edge(HostTime at, std::size_t index, bool dark) {
    Gate& gate = gates_[index];
    if (gate.dark == dark) return std::nullopt;
    gate.dark = dark;
    gate.last_edge = at;
    if (at < gate.locked_until) {
        ++bounces_;
        return std::nullopt;
    }
    if (dark == gate.reported) return std::nullopt;
    return report(gate, index, at, at);
}

std::optional<GateChange> GateBench::unlock(HostTime now, std::size_t index) {
    Gate& gate = gates_[index];
    if (now < gate.locked_until || gate.dark == gate.reported) return std::nullopt;
    return report(gate, index, gate.last_edge, now);
}

void GateBench::restart() {
    bounces_ = 0;
    for (Gate& gate : gates_) {
        gate.dark = gate.bodies > 0;
        gate.reported = gate.dark;
        gate.locked_until = {};
    }
}

}  // namespace breakstep
