// A calibration of the simulated rig with planted faults: noise and light strikes of known strength, a dead pad, a
// flickering gate, a loudspeaker 37 ms late. Real bytes both ways, virtual time.
#include "hall/trust/calibration.hpp"

#include <doctest/doctest.h>

#include <cmath>
#include <map>
#include <set>
#include <utility>

#include "support/fast_run.hpp"

using namespace breakstep;

namespace {

struct Planted {
    std::set<PadRole> dead_pads;
    std::set<GateRole> flickering, dead_gates;
    Duration speaker = 37ms;
    std::optional<Duration> screen;  // its panel shows a frame so much after it was handed over; none: no screen
    double strength = 0.3;           // of the light strikes
};

// Does what the prompts ask, as a coach would, with the planted faults.
class Coached {
  public:
    Coached(std::uint64_t seed, const Planted& planted) : planted_(planted), run_(seed, quiet_target(seed), true) {
        DriverCore& core = run_.driver.core();
        core.on_rig_answer = [this](const LinkEvent& event) { events_.push_back(event); };
        core.on_test_sound = [this](TargetTime at) { sounds_.push_back(at); };
        core.on_flash = [this](TargetTime at) { flashes_.push_back(at); };
    }

    CalibrationFindings calibrated() {
        run_.driver.pass(3s);
        const auto& rig = run_.driver.core().engine().link().rig();
        REQUIRE(rig.has_value());
        RigCalibration calibration(*rig, {true, planted_.screen.has_value()});
        events_.clear();
        calibration.begin(run_.driver.now());
        std::vector<CalibrationStep> steps;
        for (int guard = 0; guard < 40'000 && !calibration.done(); ++guard) {
            steps.clear();
            calibration.take(steps);
            for (const CalibrationStep& step : steps) follow(step);
            run_.driver.pass(10ms);
            for (const TargetTime sound : std::exchange(sounds_, {})) hear(sound, calibration);
            for (const TargetTime flash : std::exchange(flashes_, {})) calibration.flash_began(flash);
            for (const LinkEvent& event : std::exchange(events_, {})) calibration.event(event, run_.driver.now());
            calibration.due(run_.driver.now());
        }
        REQUIRE(calibration.done());
        run_.driver.pass(1s);
        return calibration.findings();
    }

    std::map<std::uint8_t, std::uint16_t> thresholds() {
        DriverCore& core = run_.driver.core();
        for (std::uint8_t pad = 0; pad < 4; ++pad)
            core.call(InputCall{AskSetting{WIRE_SETTING_PAD_THRESHOLD, pad}, run_.driver.now()}, run_.driver.now());
        events_.clear();
        run_.driver.pass(1s);
        std::map<std::uint8_t, std::uint16_t> found;
        for (const LinkEvent& event : events_)
            if (const auto* value = std::get_if<SettingValue>(&event)) found[value->index] = value->value;
        return found;
    }

  private:
    static SimulatedTargetSettings quiet_target(std::uint64_t seed) {
        SimulatedTargetSettings settings = simulated_target_settings(seed);
        settings.rig.bounce = 0;
        return settings;
    }

    void follow(const CalibrationStep& step) {
        DriverCore& core = run_.driver.core();
        const HostTime now = run_.driver.now();
        if (const auto* input = std::get_if<EngineInput>(&step)) core.call(InputCall{*input, now}, now);
        if (std::holds_alternative<CalibrationSound>(step)) core.call(InputCall{TestSound{}, now}, now);
        if (std::holds_alternative<CalibrationFlash>(step)) {
            // A screen of 60 frames a second; the photodiode sees the frame when the panel shows it.
            constexpr Duration frame{16'666'667};
            const HostTime shown{(now.time_since_epoch() / frame + 1) * frame};
            core.call(ShownCall{RepId{1}, 0, shown, 0, now}, now);
            run_.target.rig().sound(shown + *planted_.screen, 60ms);
        }
        const auto* prompt = std::get_if<CalibrationPrompt>(&step);
        if (prompt == nullptr) return;
        for (int i = 0; i < 4; ++i) {
            const auto pad = static_cast<PadRole>(i);
            if (prompt->text.find(std::string(word(pad)) + " lightly") == std::string::npos) continue;
            if (planted_.dead_pads.contains(pad)) continue;
            for (int k = 0; k < 5; ++k) run_.target.rig().strike(now + 500ms + k * 900ms, pad, planted_.strength);
        }
        for (int i = 0; i < 6; ++i) {
            const auto gate = static_cast<GateRole>(i);
            if (prompt->text.find("gate " + std::string(word(gate)) + " with") == std::string::npos) continue;
            if (planted_.dead_gates.contains(gate)) continue;
            const int times = planted_.flickering.contains(gate) ? 4 : 1;
            for (int k = 0; k < times; ++k) {
                run_.target.rig().block_gate(now + 500ms + k * 250ms, gate, true);
                run_.target.rig().block_gate(now + 600ms + k * 250ms, gate, false);
            }
        }
    }

    // The loudspeaker is late; the microphone hears it at the rig.
    void hear(TargetTime left, RigCalibration& calibration) {
        calibration.sound_began(left);
        const auto host = run_.driver.core().engine().link().host_time_from(left);
        REQUIRE(host.has_value());
        run_.target.rig().sound(host->at + planted_.speaker, 60ms);
    }

    Planted planted_;
    FastRun run_;
    std::vector<LinkEvent> events_;
    std::vector<TargetTime> sounds_, flashes_;
};

}  // namespace

TEST_CASE("a calibration finds thresholds, a dead pad, a flickering gate and a 37 ms speaker") {
    Planted planted;
    planted.dead_pads = {PadRole::low_right};
    planted.flickering = {GateRole::far_mark};
    planted.dead_gates = {GateRole::back_mark};
    Coached coached(41, planted);
    const CalibrationFindings findings = coached.calibrated();

    REQUIRE(findings.pads.size() == 4);
    const auto thresholds = coached.thresholds();
    for (const PadFinding& pad : findings.pads) {
        CAPTURE(word(pad.pad));
        CHECK(pad.dead == (pad.pad == PadRole::low_right));
        if (pad.dead) continue;
        CHECK(pad.strikes.size() == 5);
        CHECK(pad.threshold > pad.noise);
        for (const std::uint16_t strike : pad.strikes) CHECK(strike > pad.threshold);
        // It was set on the rig, not only computed.
        CHECK(thresholds.at(pad.index) == pad.threshold);
        for (const double share : pad.crosstalk) CHECK(share < 0.5);
    }
    REQUIRE(findings.gates.size() == 6);
    for (const GateFinding& gate : findings.gates) {
        CAPTURE(word(gate.gate));
        const GateVerdict expected = gate.gate == GateRole::far_mark    ? GateVerdict::flickers
                                     : gate.gate == GateRole::back_mark ? GateVerdict::dead
                                                                        : GateVerdict::good;
        CHECK(gate.verdict == expected);
    }
    REQUIRE(findings.sound.has_value());
    CHECK(findings.sound->noticed == 30);
    CHECK_FALSE(findings.screen.has_value());
    // Half a millisecond: the clocks' bounds of sound and link together.
    CHECK(std::abs(findings.sound->delay.count() - Duration(37ms).count()) < 500'000);
    CHECK(findings.sound->spread < 1ms);
    // 4 pads, 6 gates, the sound, and the crosstalk's head with a row for each pad that was struck.
    CHECK(finding_lines(findings).size() == 15);
}

TEST_CASE("a calibration finds how late the screen is, apart from the loudspeaker") {
    Planted planted;
    planted.screen = 23ms;
    Coached coached(43, planted);
    const CalibrationFindings findings = coached.calibrated();
    REQUIRE(findings.screen.has_value());
    CHECK(findings.screen->made == 30);
    CHECK(findings.screen->noticed == 30);
    CHECK(std::abs(findings.screen->delay.count() - Duration(23ms).count()) < 500'000);
    CHECK(findings.screen->spread < 1ms);
    REQUIRE(findings.sound.has_value());
    CHECK(std::abs(findings.sound->delay.count() - Duration(37ms).count()) < 500'000);
    CHECK(finding_lines(findings).back().starts_with("screen "));
}

TEST_CASE("a calibration without anybody ends by itself and says what is missing") {
    Planted planted;
    planted.dead_pads = {PadRole::high_left, PadRole::high_right, PadRole::low_left, PadRole::low_right};
    planted.dead_gates = {GateRole::near_mark,   GateRole::far_mark, GateRole::back_mark,
                          GateRole::attack_line, GateRole::low,      GateRole::hip};
    planted.speaker = 2s;
    Coached coached(42, planted);
    const CalibrationFindings findings = coached.calibrated();
    for (const PadFinding& pad : findings.pads) CHECK(pad.dead);
    for (const GateFinding& gate : findings.gates)
        CHECK(gate.verdict == (gate.optional ? GateVerdict::absent : GateVerdict::dead));
    REQUIRE(findings.sound.has_value());
    CHECK(findings.sound->spread == unknown_uncertainty);
}

TEST_CASE("what the coach leaves out is told as not tested, and nothing of it is changed") {
    FastRun run(43, simulated_target_settings(43), true);
    run.driver.pass(3s);
    const auto& rig = run.driver.core().engine().link().rig();
    REQUIRE(rig.has_value());
    RigCalibration calibration(*rig, {true, true});
    const HostTime now = run.driver.now();
    calibration.begin(now);
    calibration.skip(now);  // the noise is measured all the same
    calibration.due(now + RigCalibration::quiet_time);
    for (int i = 0; i < 4 + 6 + 2; ++i) {
        CHECK_FALSE(calibration.done());
        calibration.skip(now + 3s);
    }
    CHECK(calibration.done());
    std::vector<CalibrationStep> steps;
    calibration.take(steps);
    for (const CalibrationStep& step : steps)
        if (const auto* input = std::get_if<EngineInput>(&step))
            CHECK_FALSE(std::holds_alternative<ChangeSetting>(*input));
    const CalibrationFindings& findings = calibration.findings();
    for (const PadFinding& pad : findings.pads) CHECK((pad.skipped && !pad.dead && pad.threshold == 0));
    for (const GateFinding& gate : findings.gates) CHECK(gate.verdict == GateVerdict::skipped);
    CHECK_FALSE(findings.sound.has_value());
    CHECK_FALSE(findings.screen.has_value());
    for (const std::string& line : finding_lines(findings)) CHECK(line.find("not tested") != std::string::npos);
}
