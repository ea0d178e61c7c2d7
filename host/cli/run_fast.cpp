#include <algorithm>
#include <iostream>

#include "cli/session_setup.hpp"
#include "hall/drivers/fast_driver.hpp"
#include "places.hpp"

namespace breakstep {
namespace {

// Virtual time begins somewhere above zero, as a real steady clock does.
constexpr HostTime virtual_begin{Duration{1'000'000'000}};
constexpr Duration longest_session = 7200s;
constexpr Duration between_athletes = 5s;

}  // namespace

Expected<std::vector<SessionResults>> run_fast(const std::vector<PlannedSession>& sessions,
                                               const CommonOptions& options, const Settings& settings,
                                               std::uint64_t seed, Journal& journal) {
    EngineSettings engine = engine_settings(settings, seed);
    std::unique_ptr<CueMixer> mixer;
    if (settings.sound) {
        auto sounds = load_sounds(BREAKSTEP_SOUNDS_DIR);
        if (!sounds) return tl::make_unexpected(sounds.error());
        mixer = std::make_unique<CueMixer>(std::move(*sounds));
        engine.devices.sound = true;
    }
    std::optional<CaptureWriter> capture;
    if (!options.capture.empty()) {
        auto created = CaptureWriter::create(options.capture, engine);
        if (!created) return tl::make_unexpected(created.error());
        capture.emplace(std::move(*created));
    }
    const bool with_partner = std::any_of(sessions.begin(), sessions.end(), [](const PlannedSession& planned) {
        return planned.simulated_partner.has_value();
    });
    const SimulatedTargetSettings plain = simulated_target_settings(seed);
    SimulatedTarget target(with_partner ? for_a_partner(plain) : plain, virtual_begin);
    VirtualCues cues(std::move(mixer), virtual_begin);
    FastDriver driver(engine, target, journal, cues, capture ? &*capture : nullptr, virtual_begin);
    std::vector<SessionResults> results;
    for (const PlannedSession& planned : sessions) {
        driver.pass(between_athletes);
        target.set_partner(driver.now(), planned.simulated_partner);
        if (planned.simulated) target.set_athlete(driver.now(), *planned.simulated);
        const auto how = driver.run(planned.began, planned.names, longest_session);
        if (!how) return tl::make_unexpected(how.error());
        results.push_back(results_of(planned, *driver.core().engine().score(), *how));
        for (const HealthNotice& notice : driver.core().health_notices())
            results.back().notices.push_back(notice.what + ": " + notice.to_do);
        results.back().line = driver.core().line_health();
        if (const auto trouble = journal.failure()) return tl::make_unexpected(*trouble);
    }
    if (capture)
        if (auto closed = capture->close(); !closed) return tl::make_unexpected(closed.error());
    return results;
}

}  // namespace breakstep
