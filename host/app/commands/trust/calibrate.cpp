// `rigs calibrate`: the questions of app/trust/calibration.hpp, asked and answered on a terminal.
#include <fmt/format.h>

#include <atomic>
#include <iostream>
#include <thread>

#include "app/commands/session_setup.hpp"
#include "app/drivers/live_cues.hpp"
#include "app/drivers/live_driver.hpp"
#include "app/results/findings_json.hpp"
#include "app/trust/calibration.hpp"
#include "store/memory_journal.hpp"

namespace breakstep {
namespace {

constexpr int bar_width = 40;
constexpr std::uint16_t level_most = 1023;

std::string bar_of(const CalibrationLevel& level) {
    const int filled = level.level * bar_width / level_most;
    return fmt::format("\r  {:<11} |{:<{}}|", word(level.pad), std::string(static_cast<std::size_t>(filled), '#'),
                       bar_width);
}

// Runs on the engine's thread: its callbacks are the only ones that touch the calibration.
class Asked {
  public:
    Asked(LiveDriver& driver, bool with_sound, bool bars) : driver_(driver), with_sound_(with_sound), bars_(bars) {
        driver.on_ready = [this](const Engine& engine, Duration) { begin(*engine.link().rig()); };
        driver.on_rig_answer = [this](const LinkEvent& event) {
            if (calibration_) calibration_->event(event, now_);
        };
        driver.on_test_sound = [this](TargetTime at) {
            if (calibration_) calibration_->sound_began(at);
        };
        driver.on_poll = [this](HostTime now) { poll(now); };
    }
    [[nodiscard]] bool done() const { return done_; }
    /// After the driver has finished.
    [[nodiscard]] const CalibrationFindings& findings() const { return calibration_->findings(); }

  private:
    void begin(const RigConnected& rig) {
        if (!calibration_) calibration_.emplace(rig, with_sound_);
    }
    void poll(HostTime now) {
        now_ = now;
        if (!calibration_ || done_) return;
        if (!begun_) calibration_->begin(now);
        begun_ = true;
        calibration_->due(now);
        steps_.clear();
        calibration_->take(steps_);
        for (const CalibrationStep& step : steps_) follow(step);
    }
    void follow(const CalibrationStep& step) {
        if (const auto* prompt = std::get_if<CalibrationPrompt>(&step)) {
            std::cerr << (bar_shown_ ? "\n" : "") << prompt->text << '\n';
            bar_shown_ = false;
        } else if (const auto* level = std::get_if<CalibrationLevel>(&step)) {
            if (!bars_) return;
            std::cerr << bar_of(*level) << std::flush;
            bar_shown_ = true;
        } else if (const auto* input = std::get_if<EngineInput>(&step)) {
            driver_.request(*input);
        } else if (std::holds_alternative<CalibrationSound>(step)) {
            driver_.request(TestSound{});
        } else if (std::holds_alternative<CalibrationDone>(step)) {
            done_ = true;
        }
    }

    LiveDriver& driver_;
    bool with_sound_, bars_, begun_ = false, bar_shown_ = false;
    HostTime now_;
    std::optional<RigCalibration> calibration_;
    std::vector<CalibrationStep> steps_;
    std::atomic<bool> done_{false};
};

int keep(const RigOptions& options, const Settings& settings, const SoundFinding& sound, const std::string& device) {
    auto store = open_store(options.common, settings, StoreMode::own_thread);
    if (!store) return complain(store.error(), exit_not_kept);
    Calibration kept;
    kept.source = OnsetSource::sound;
    kept.device = device;
    kept.measured_unix_seconds = unix_now();
    kept.delay = sound.delay;
    kept.spread = sound.spread;
    kept.samples = sound.heard;
    if (auto added = (*store)->add_calibration(kept); !added) return complain(added.error(), exit_not_kept);
    if (auto closed = (*store)->close(); !closed) return complain(closed.error(), exit_not_kept);
    std::cerr << "kept with today's date; drills with this loudspeaker use it from now on\n";
    return exit_done;
}

}  // namespace

int calibrate_rig(const RigOptions& options) {
    const auto settings = load_settings(options.common.settings);
    if (!settings) return complain(settings.error());
    LiveCues::Wanted wanted;
    wanted.stage = false;
    wanted.sound = settings->sound && !options.common.headless;
    wanted.sounds_directory = BREAKSTEP_SOUNDS_DIR;
    wanted.audio.frames = settings->sound_frames;
    LiveCues cues(wanted);
    for (const std::string& missing : cues.missing()) std::cerr << "breakstep: " << missing << '\n';
    LiveSettings live{engine_settings(*settings, 1), options.port.empty() ? settings->rig_port : options.port};
    live.engine.sound_delay.reset();
    live.engine.devices.sound = cues.has_sound();
    live.engine.link.pads_needed = 0;

    MemoryJournal journal;
    LiveDriver driver(live, journal, cues, nullptr);
    driver.on_notice = [](const std::string& text) { std::cerr << "breakstep: " << text << '\n'; };
    Asked asked(driver, cues.has_sound(), !options.common.json);
    driver.watch();
    while (!driver.finished() && !asked.done()) std::this_thread::sleep_for(std::chrono::milliseconds(20));
    driver.stop();
    while (!driver.finished()) std::this_thread::sleep_for(std::chrono::milliseconds(20));
    if (const auto outcome = driver.outcome(); !outcome) return complain(outcome.error(), exit_no_rig);
    if (!asked.done()) return exit_failed;

    const CalibrationFindings& findings = asked.findings();
    if (options.common.json)
        std::cout << findings_json(findings);
    else
        for (const std::string& line : finding_lines(findings)) std::cout << line << '\n';
    if (!findings.sound || findings.sound->spread == unknown_uncertainty) return exit_done;
    return keep(options, *settings, *findings.sound, cues.sound_name());
}

}  // namespace breakstep
