// What has come out since it was last taken.
#include <utility>

#include "hall/engine/engine_state.hpp"

namespace breakstep {

void EngineOutput::clear() {
    frames.clear();
    records.clear();
    results.clear();
    sounds.clear();
    rig_answers.clear();
    test_sounds.clear();
    flashes.clear();
    partner_cues.clear();
    refusals.clear();
    session.reset();
    aside_records.clear();
    aside_results.clear();
    session_aside.reset();
    scene_changed = false;
    session_done.reset();
}

void Engine::drain(EngineOutput& out) {
    State& s = *state_;
    s.link.drain(s.out.frames);
    const auto move_all = [](auto& from, auto& to) {
        for (auto& item : from) to.push_back(std::move(item));
        from.clear();
    };
    move_all(s.out.frames, out.frames);
    move_all(s.out.records, out.records);
    move_all(s.out.results, out.results);
    move_all(s.out.sounds, out.sounds);
    move_all(s.out.rig_answers, out.rig_answers);
    move_all(s.out.test_sounds, out.test_sounds);
    move_all(s.out.flashes, out.flashes);
    move_all(s.out.partner_cues, out.partner_cues);
    move_all(s.out.refusals, out.refusals);
    move_all(s.out.aside_records, out.aside_records);
    move_all(s.out.aside_results, out.aside_results);
    if (s.out.session_aside) out.session_aside = s.out.session_aside;
    if (s.out.session) out.session = s.out.session;
    out.scene_changed = out.scene_changed || s.out.scene_changed;
    if (s.out.session_done) out.session_done = s.out.session_done;
    s.out.clear();
}

}  // namespace breakstep
