// `rigs calibrate`: the questions of hall/trust/calibration.hpp, asked and answered on a terminal.
#include <fmt/format.h>

#include <poll.h>
#include <unistd.h>

#include <atomic>
#include <iostream>

#include "cli/live_window.hpp"
#include "cli/session_setup.hpp"
#include "cli/trust/calibrate.hpp"
#include "cli/trust/findings_json.hpp"
#include "club/athletes/naming.hpp"
#include "devices/serial/serial_port.hpp"
#include "hall/trust/calibration.hpp"
#include "store/memory_journal.hpp"

namespace breakstep {
namespace {

constexpr int bar_width = 40;
constexpr std::uint16_t level_most = 1023;

std::string bar_of(const CalibrationLevel& level) {
    const int filled = level.level * bar_width / level_most;
    return fmt::format("\r  {:<11} |{:<{}}| {} of {}", word(level.pad),
                       std::string(static_cast<std::size_t>(filled), '#'), bar_width, level.strikes,
                       RigCalibration::light_strikes);
}

// Lines that were typed since the last look; never waits. Nothing more comes after the input's end.
class TypedLines {
  public:
    [[nodiscard]] int count() {
        int lines = 0;
        pollfd input{STDIN_FILENO, POLLIN, 0};
        while (!ended_ && lines == 0 && poll(&input, 1, 0) > 0) {
            char typed = 0;
            const ssize_t got = read(STDIN_FILENO, &typed, 1);
            ended_ = got <= 0;
            if (got > 0 && typed == '\n') ++lines;
        }
        return lines;
    }

  private:
    bool ended_ = false;
};

// Runs on the engine's thread: its callbacks are the only ones that touch the calibration.
class Asked {
  public:
    Asked(LiveDriver& driver, LiveCues& cues, bool bars, const CalibrationHand& hand)
        : driver_(driver), cues_(cues), hand_(hand), bars_(bars) {
        driver.on_ready = [this](const Engine& engine, Duration) { begin(*engine.link().rig()); };
        driver.on_rig_answer = [this](const LinkEvent& event) {
            if (!calibration_) return;
            // What was asked meanwhile would count as dead.
            if (std::holds_alternative<RigLost>(event)) gone_ = true;
            calibration_->event(event, now_);
        };
        driver.on_test_sound = [this](TargetTime at) {
            if (calibration_) calibration_->sound_began(at);
        };
        driver.on_flash = [this](TargetTime at) {
            if (calibration_) calibration_->flash_began(at);
        };
        driver.on_poll = [this](HostTime now) { poll(now); };
    }
    [[nodiscard]] bool done() const { return done_; }
    [[nodiscard]] bool rig_gone() const { return gone_; }
    /// Any thread: the question that is asked now is left out.
    void skip() { skips_ = true; }
    /// After the driver has finished.
    [[nodiscard]] const CalibrationFindings& findings() const { return calibration_->findings(); }

  private:
    static StageView dark_patch() {
        StageView view;
        view.screen = StageScreen::live;
        view.patch = true;
        return view;
    }
    void begin(const RigConnected& rig) {
        if (calibration_) return;
        calibration_.emplace(rig, CalibrationDevices{cues_.has_sound(), !cues_.screen_name().empty()});
        cues_.show(dark_patch());
    }
    void poll(HostTime now) {
        now_ = now;
        if (!calibration_ || done_ || gone_) return;
        if (!begun_) calibration_->begin(now);
        begun_ = true;
        calibration_->due(now);
        if (skips_.exchange(false)) calibration_->skip(now);
        steps_.clear();
        calibration_->take(steps_);
        for (const CalibrationStep& step : steps_) follow(step);
    }
    void follow(const CalibrationStep& step) {
        if (const auto* prompt = std::get_if<CalibrationPrompt>(&step)) {
            std::cerr << (bar_shown_ ? "\n" : "") << prompt->text << '\n';
            if (hand_.say) hand_.say(prompt->text);
            bar_shown_ = false;
        } else if (const auto* level = std::get_if<CalibrationLevel>(&step)) {
            if (!bars_) return;
            std::cerr << bar_of(*level) << std::flush;
            bar_shown_ = true;
        } else if (const auto* input = std::get_if<EngineInput>(&step)) {
            driver_.request(*input);
        } else if (std::holds_alternative<CalibrationSound>(step)) {
            driver_.request(TestSound{});
        } else if (const auto* flash = std::get_if<CalibrationFlash>(&step)) {
            // Ahead by more than a frame, so that the frame that shows it first is drawn for its time.
            StageView view = dark_patch();
            StageAttack lit;
            lit.rep = static_cast<std::uint32_t>(flash->number);
            lit.toe_off = now_ + 50ms;
            lit.timeline.phases = {{Phase::lift, false, flash->length}};
            view.attacks.push_back(lit);
            cues_.show(view);
        } else if (std::holds_alternative<CalibrationDone>(step)) {
            done_ = true;
        }
    }

    LiveDriver& driver_;
    LiveCues& cues_;
    const CalibrationHand& hand_;
    bool bars_, begun_ = false, bar_shown_ = false;
    HostTime now_;
    std::optional<RigCalibration> calibration_;
    std::vector<CalibrationStep> steps_;
    std::atomic<bool> done_{false}, gone_{false}, skips_{false};
};

struct Device {
    OnsetSource source{};
    std::string name;
    const std::optional<DelayFinding>& found;
};

int keep(const RigOptions& options, const Settings& settings, const std::vector<Device>& devices) {
    std::vector<Calibration> kept;
    for (const Device& device : devices) {
        if (!device.found || device.found->spread == unknown_uncertainty) continue;
        Calibration& one = kept.emplace_back();
        one.source = device.source;
        one.device = device.name;
        one.measured_unix_seconds = unix_now();
        one.delay = device.found->delay;
        one.spread = device.found->spread;
        one.samples = device.found->noticed;
    }
    if (kept.empty()) return exit_done;
    auto store = open_store(options.common, settings, StoreMode::own_thread);
    if (!store) return complain(store.error(), exit_not_kept);
    for (const Calibration& one : kept)
        if (auto added = (*store)->add_calibration(one); !added) return complain(added.error(), exit_not_kept);
    if (auto closed = (*store)->close(); !closed) return complain(closed.error(), exit_not_kept);
    for (const Calibration& one : kept)
        std::cerr << fmt::format("kept with today's date: drills with this {} use it from now on\n", word(one.source));
    return exit_done;
}

}  // namespace

int calibrate_rig(const RigOptions& options) { return calibrate_rig(options, {}); }

int calibrate_rig(const RigOptions& options, const CalibrationHand& hand) {
    const auto settings = load_settings(options.common.settings);
    if (!settings) return complain(settings.error());
    LiveCues cues(wanted_cues(options.common, *settings));
    for (const std::string& missing : cues.missing()) std::cerr << "breakstep: " << missing << '\n';
    LiveSettings live{engine_settings(*settings, 1), options.port.empty() ? settings->rig_port : options.port};
    live.engine.sound_delay.reset();
    live.engine.screen_delay.reset();
    live.engine.devices.screen = cues.window() != nullptr;
    live.engine.devices.sound = cues.has_sound();
    live.engine.link.pads_needed = 0;
    if (leads_to_pty(live.port)) live.engine.link.byte_time = Duration{};

    MemoryJournal journal;
    LiveDriver driver(live, journal, cues, nullptr);
    driver.on_notice = [&hand](const std::string& text) {
        std::cerr << "breakstep: " << text << '\n';
        if (hand.say) hand.say(text);
    };
    Asked asked(driver, cues, !options.common.json, hand);
    std::cerr << "Looking for the rig. Then: do what is asked; Enter leaves a question out.\n";
    TypedLines typed;
    driver.watch();
    serve_window(cues, driver, [&] {
        if (typed.count() > 0 || (hand.skips && hand.skips())) asked.skip();
        if (hand.ends && hand.ends()) driver.stop();
        return driver.finished() || asked.done() || asked.rig_gone();
    });
    driver.stop();
    serve_window(cues, driver, [&] { return driver.finished(); });
    if (const auto outcome = driver.outcome(); !outcome) return complain(outcome.error(), exit_no_rig);
    if (asked.rig_gone())
        return complain({ErrorKind::device, "the rig went away during the calibration",
                         "check the cable and begin again; thresholds set so far stay in the rig"},
                        exit_no_rig);
    if (!asked.done()) {
        std::cerr << "stopped: thresholds set so far stay in the rig, nothing else was kept\n";
        return exit_failed;
    }

    const CalibrationFindings& findings = asked.findings();
    if (options.common.json)
        std::cout << findings_json(findings);
    else
        for (const std::string& line : finding_lines(findings)) std::cout << line << '\n';
    if (hand.say)
        for (const std::string& line : finding_lines(findings)) hand.say(line);
    return keep(options, *settings,
                {{OnsetSource::sound, cues.sound_name(), findings.sound},
                 {OnsetSource::screen, cues.screen_name(), findings.screen}});
}

}  // namespace breakstep
