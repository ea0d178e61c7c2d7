#include "cli/session_setup.hpp"

namespace breakstep {
namespace {

/// Newest first, as the store gives them.
void use_newest(const std::vector<Calibration>& calibrations, OnsetSource source, const std::string& device,
                std::optional<CueDelay>& delay) {
    if (delay || device.empty()) return;
    for (const Calibration& each : calibrations)
        if (each.source == source && each.device == device && each.spread != unknown_uncertainty) {
            delay = CueDelay{each.delay, each.spread};
            return;
        }
}

}  // namespace

void use_calibrations(const Store& store, const std::string& sound_device, const std::string& screen,
                      EngineSettings& engine) {
    const auto calibrations = store.calibrations();
    if (!calibrations) return;
    use_newest(*calibrations, OnsetSource::sound, sound_device, engine.sound_delay);
    use_newest(*calibrations, OnsetSource::screen, screen, engine.screen_delay);
}

}  // namespace breakstep
