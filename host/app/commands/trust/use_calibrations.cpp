#include "app/commands/session_setup.hpp"

namespace breakstep {

void use_calibrations(const Store& store, const std::string& sound_device, EngineSettings& engine) {
    if (engine.sound_delay || sound_device.empty()) return;
    const auto calibrations = store.calibrations();
    if (!calibrations) return;
    for (const Calibration& each : *calibrations)
        if (each.source == OnsetSource::sound && each.device == sound_device && each.spread != unknown_uncertainty) {
            engine.sound_delay = CueDelay{each.delay, each.spread};
            return;
        }
}

}  // namespace breakstep
