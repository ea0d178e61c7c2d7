// A calibration on the rig's real firmware, run by the simulated board, in simulated time and with bytes damaged both
// ways: what was planted at the pins is found. The coach does what the prompts ask.
#include <doctest/doctest.h>

#include <cmath>
#include <map>
#include <optional>
#include <set>
#include <utility>

#include "hall/trust/calibration.hpp"
#include "truth/lock_step.hpp"

using namespace breakstep;
using namespace breakstep::tests;

namespace {

struct PlantedPad {
    int noise = 2;        ///< readings at rest lie between 0 and this
    double strike = 300;  ///< peak of the light strikes
    double coupling = 0;  ///< how much of it shakes the pad beside
    bool dead = false;
};

struct Planted {
    std::array<PlantedPad, pad_count> pads;
    std::set<unsigned> flickering_gates, dead_gates;
    Duration speaker = 37ms, screen = 23ms;
    Duration device_spread{};  ///< each repeat is up to so much later
};

class CoachedBoard final : public LockStepBench {
  public:
    CoachedBoard(std::uint64_t seed, const Planted& planted)
        : LockStepBench(LockStepSettings{seed, false, 0.001, 80e-6}), planted_(planted), chance_(seed, 7) {
        for (unsigned pad = 0; pad < pad_count; ++pad)
            board_.command("noise 0 " + std::to_string(pad) + " " + std::to_string(planted_.pads[pad].noise));
    }

    CalibrationFindings calibrated(CalibrationDevices devices) {
        connect();
        // Silence: the comparators' outputs are open, and the pull-up holds the pin high.
        board_.pin(time_->cycle_at(now_ + 1ms), "sync", true);
        pass(3s);
        REQUIRE(engine_.link().rig().has_value());
        calibration_.emplace(*engine_.link().rig(), devices);
        calibration_->begin(now_);
        std::vector<CalibrationStep> steps;
        for (int guard = 0; guard < 40'000 && !calibration_->done(); ++guard) {
            steps.clear();
            calibration_->take(steps);
            for (const CalibrationStep& step : steps) follow(step);
            pass(10ms);
            calibration_->due(now_);
        }
        REQUIRE(calibration_->done());
        pass(1s);
        return calibration_->findings();
    }

    /// Pads that the rig reports as struck when each is struck so hard, one after the other.
    std::vector<PadRole> struck_by(double share_of_light_strike) {
        hits_.clear();
        for (unsigned pad = 0; pad < pad_count; ++pad) {
            if (planted_.pads[pad].dead) continue;
            strike(now_ + 50ms, pad, share_of_light_strike * planted_.pads[pad].strike);
            pass(500ms);
        }
        return hits_;
    }

  private:
    void strike(HostTime at, unsigned pad, double peak) {
        const std::uint64_t cycle = time_->cycle_at(at);
        board_.strike(cycle, pad, peak, 60, 4);
        if (const double coupling = planted_.pads[pad].coupling; coupling > 0)
            board_.strike(cycle + 200 * cycles_per_us, pad ^ 1U, peak * coupling, 80, 4);
    }

    void follow(const CalibrationStep& step) {
        if (const auto* input = std::get_if<EngineInput>(&step)) engine_.input(*input, now_);
        if (std::holds_alternative<CalibrationSound>(step)) engine_.input(TestSound{}, now_);
        if (std::holds_alternative<CalibrationFlash>(step)) flash();
        if (const auto* prompt = std::get_if<CalibrationPrompt>(&step)) act_on(prompt->text);
        drain(now_);
    }

    void act_on(const std::string& text) {
        for (unsigned pad = 0; pad < pad_count; ++pad) {
            if (text.find(std::string(word(static_cast<PadRole>(pad))) + " lightly") == std::string::npos) continue;
            for (int k = 0; k < 5 && !planted_.pads[pad].dead; ++k)
                strike(now_ + 500ms + k * 900ms, pad, planted_.pads[pad].strike * (1 + 0.1 * k));
        }
        for (int i = 0; i < 6; ++i) {
            const auto role = static_cast<GateRole>(i);
            if (text.find("gate " + std::string(word(role)) + " with") == std::string::npos) continue;
            const auto gate = static_cast<unsigned>(gate_of(role));
            if (planted_.dead_gates.contains(gate)) continue;
            for (int k = 0; k < (planted_.flickering_gates.contains(gate) ? 4 : 1); ++k) {
                board_.gate(time_->cycle_at(now_ + 500ms + k * 250ms), gate, true);
                board_.gate(time_->cycle_at(now_ + 600ms + k * 250ms), gate, false);
            }
        }
    }

    [[nodiscard]] Duration late() {
        return Duration(
            static_cast<std::int64_t>(chance_.unit() * static_cast<double>(planted_.device_spread.count())));
    }
    /// 400 Hz at the comparator's output for 40 ms, as the count sound or a lit square makes it: low is heard.
    void notice(HostTime at) {
        for (int k = 0; k < 32; ++k) board_.pin(time_->cycle_at(at + k * 1250us), "sync", k % 2 != 0);
    }
    void on_test_sound(TargetTime left) override {
        calibration_->sound_began(left);
        notice(sound_->last_left() + planted_.speaker + late());
    }
    /// The square is on the screen 8 ms after it was asked for; the panel is late by itself.
    void flash() {
        const HostTime shown = now_ + 8ms;
        pass(8ms);
        engine_.shown(RepId{1}, 0, shown, 0, now_);
        drain(now_);
        notice(shown + planted_.screen + late());
    }
    void on_flash(TargetTime at) override { calibration_->flash_began(at); }
    void on_rig_answer(const LinkEvent& event) override {
        if (calibration_) calibration_->event(event, now_);
        if (const auto* hit = std::get_if<PadHit>(&event)) hits_.push_back(hit->pad);
    }

    Planted planted_;
    Random chance_;
    std::optional<RigCalibration> calibration_;
    std::vector<PadRole> hits_;
};

}  // namespace

TEST_CASE("on the real firmware a calibration finds thresholds, a dead pad, a flickering gate and a 37 ms speaker") {
    Planted planted;
    planted.pads[0] = {4, 320, 0.3, false};
    planted.pads[1] = {12, 200, 0, false};
    planted.pads[2] = {30, 500, 0, false};
    planted.pads[3].dead = true;
    planted.flickering_gates = {3};
    planted.dead_gates = {1, 4};
    CoachedBoard board(61, planted);
    const CalibrationFindings findings = board.calibrated({true, true});
    for (const std::string& line : finding_lines(findings)) MESSAGE(line);

    REQUIRE(findings.pads.size() == pad_count);
    for (unsigned i = 0; i < pad_count; ++i) {
        const PadFinding& pad = findings.pads[i];
        CAPTURE(word(pad.pad));
        CHECK(pad.dead == planted.pads[i].dead);
        if (pad.dead) continue;
        CHECK(pad.strikes.size() == 5);
        // Noise is spread evenly up to what was planted; 40,000 readings reach its end.
        CHECK(std::abs(pad.noise - planted.pads[i].noise) <= 1);
        // Half way on the scale of ratios between the floor and the lightest strike, as calibration.hpp promises; the
        // converter looks every 60 us, so a peak is told a few in a hundred too low.
        const double middle = std::sqrt(planted.pads[i].noise * planted.pads[i].strike);
        CHECK(std::abs(pad.threshold - std::max(10.0, middle)) <= 0.06 * middle);
    }
    CHECK(std::abs(findings.pads[0].crosstalk[1] - 0.3) < 0.05);
    CHECK(findings.pads[1].crosstalk[0] < 0.05);
    for (const GateFinding& gate : findings.gates) {
        CAPTURE(word(gate.gate));
        const auto socket = static_cast<unsigned>(gate_of(gate.gate));
        if (gate.gate == GateRole::partner_back_mark)
            CHECK(gate.verdict == GateVerdict::absent);  // nobody stands there, and a gate there is a choice
        else if (planted.flickering_gates.contains(socket))
            CHECK(gate.verdict == GateVerdict::flickers);
        else if (planted.dead_gates.contains(socket))
            // Alone, the attack line is a choice (RIG.md): an empty socket there is no fault.
            CHECK(gate.verdict == (gate.gate == GateRole::attack_line ? GateVerdict::absent : GateVerdict::dead));
        else
            CHECK(gate.verdict == GateVerdict::good);
    }
    // Half a millisecond: the bounds of link and sound stream together.
    REQUIRE(findings.sound.has_value());
    CHECK(findings.sound->noticed == 30);
    CHECK(std::abs(static_cast<double>((findings.sound->delay - 37ms).count())) < 500'000);
    CHECK(findings.sound->spread < 500us);
    REQUIRE(findings.screen.has_value());
    CHECK(findings.screen->noticed == 30);
    CHECK(std::abs(static_cast<double>((findings.screen->delay - 23ms).count())) < 500'000);
    CHECK(findings.screen->spread < 500us);

    // The thresholds are in the rig: a strike nearly as light as the lightest counts, a knock just above the floor not.
    CHECK(board.struck_by(0.9) == std::vector<PadRole>{PadRole::high_left, PadRole::high_right, PadRole::low_left});
    CHECK(board.struck_by(0.08).empty());
}

TEST_CASE("on the real firmware the spread of a device that is unsteady by 4 ms is told") {
    Planted planted;
    planted.device_spread = 4ms;
    CoachedBoard board(62, planted);
    const CalibrationFindings findings = board.calibrated({true, true});
    for (const auto& device : {findings.sound, findings.screen}) {
        REQUIRE(device.has_value());
        // Evenly between 0 and 4 ms: the median near 2, the farthest of 30 nearly 2 from it.
        CHECK(device->spread > 1500us);
        CHECK(device->spread < 3500us);
    }
}
