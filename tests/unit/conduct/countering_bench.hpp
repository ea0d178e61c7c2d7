// A drill in which the athlete leads, lures or is answered, on the bench of conduct and score: a set begun, steps in
// and out. Helpers of one test each.
#pragma once

#include <vector>

#include "unit/conduct/conduct_bench.hpp"

namespace breakstep::testing {

inline SessionBegan session_of(StartKind start, std::uint64_t seed = 3) {
    SessionBegan session;
    session.session = SessionId{1};
    session.seed = seed;
    session.rules = rules_of_today;
    session.reading_method = "two signs";
    session.drill.name = "drill";
    session.drill.start = start;
    session.drill.attacks = {AttackChoice{}};
    session.drill.opponent.spread = 0;
    session.drill.sets = 1;
    session.drill.reps = 4;
    session.drill.rest = 5s;
    return session;
}

inline ConductBench bench_of(const SessionBegan& session) {
    ConductBench bench(session);
    bench.gates = {GateRole::near_mark, GateRole::far_mark, GateRole::back_mark};
    bench.connect();
    return bench;
}

// Two legs through one gate.
inline void pass_gate(ConductBench& bench, GateRole gate) {
    bench.edge(gate, true);
    bench.pass(40ms);
    bench.edge(gate, false);
}

// The athlete stands inside after the strike that starts a set.
inline void begin_set(ConductBench& bench) {
    bench.pass(bench.before_strike);
    bench.strike();
    bench.pass(300ms);
    pass_gate(bench, GateRole::near_mark);
    bench.pass(2500ms);
}

inline void step_in_and_out(ConductBench& bench, Duration beat) {
    pass_gate(bench, GateRole::near_mark);
    bench.pass(300ms);
    pass_gate(bench, GateRole::near_mark);
    bench.pass(beat - 380ms);
}

inline const RepOpened* newest(const std::vector<RepOpened>& opened) {
    return opened.empty() ? nullptr : &opened.back();
}

inline void until(ConductBench& bench, TargetTime at) {
    while (bench.rig_now() < at) bench.pass(5ms);
}

}  // namespace breakstep::testing
