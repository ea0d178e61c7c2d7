// Calibrating a rig: one question at a time, answered by what the rig reports. Noise floors, then a few light strikes
// on each pad (thresholds, crosstalk, dead pads), then each gate blocked and cleared (dead or flickering gates), then
// thirty sounds through the sync input (the loudspeaker's delay and its spread), then
// thirty flashes (the screen's).
//
// Pure: times and the link's events come in, commands and words come out. Owned by the command, on the engine's thread.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "hall/engine/engine.hpp"

namespace breakstep {

struct PadFinding {
    PadRole pad{};
    std::uint8_t index = 0;              ///< channel index, as settings want it
    std::uint16_t noise = 0;             ///< the highest level while nobody struck
    std::vector<std::uint16_t> strikes;  ///< peaks of the light strikes
    std::uint16_t threshold = 0;         ///< to be set; 0 for a dead pad
    bool dead = false;
    bool skipped = false;  ///< left out by the coach before any strike
    /// Share of a strike that reached each other pad, the most seen; by PadRole.
    std::array<double, 4> crosstalk{};
};

/// absent: silent, and the rig says that nothing need be plugged in there. skipped: left out by the coach.
enum class GateVerdict : std::uint8_t { good, flickers, dead, absent, skipped };
struct GateFinding {
    GateRole gate{};
    bool optional = false;
    std::int32_t breaks = 0, restores = 0;
    GateVerdict verdict = GateVerdict::dead;
};

/// Of the loudspeaker or the screen.
struct DelayFinding {
    std::int32_t noticed = 0, made = 0;        ///< by the sync input; sounds or flashes
    Duration delay{};                          ///< median
    Uncertainty spread = unknown_uncertainty;  ///< half-width that held 99 in 100 of the repeats
};

struct CalibrationFindings {
    std::vector<PadFinding> pads;
    std::vector<GateFinding> gates;
    std::optional<DelayFinding> sound, screen;  ///< none: no sync input, or no such device
};

/// What to say to the coach.
struct CalibrationPrompt {
    std::string text;
};
/// A level bar for the pad that is being struck: 0 .. 1023.
struct CalibrationLevel {
    PadRole pad{};
    std::uint16_t level = 0;
    std::size_t strikes = 0;  ///< so far, of light_strikes
};
/// Play the count sound now; its begin comes back by sound_began().
struct CalibrationSound {};
/// Show the white square for `length`; when it is first on the screen comes back by flash_began().
struct CalibrationFlash {
    std::int32_t number = 0;
    Duration length{};
};
struct CalibrationDone {};
using CalibrationStep =
    std::variant<CalibrationPrompt, CalibrationLevel, EngineInput, CalibrationSound, CalibrationFlash, CalibrationDone>;

/// What there is to be measured besides the rig.
struct CalibrationDevices {
    bool sound = false, screen = false;
};

class RigCalibration {
  public:
    static constexpr Duration quiet_time = 2s;
    static constexpr std::size_t light_strikes = 5;
    static constexpr Duration strike_patience = 20s, gate_patience = 15s, gate_watch = 3s;
    static constexpr std::int32_t repeats = 30;
    /// Under two flashes a second, and never a beat that the screen's own could lock to: see next_flash().
    static constexpr Duration repeat_period = 700ms, flash_length = 200ms;

    RigCalibration(const RigConnected& rig, CalibrationDevices devices);

    void begin(HostTime now);
    void event(const LinkEvent& event, HostTime now);
    /// The sound was put on the stream so that it leaves the computer at `at`, in rig time.
    void sound_began(TargetTime at) { began_at_ = at; }
    /// The white square was first on the screen at `at`, in rig time, as far as this computer knows.
    void flash_began(TargetTime at) { began_at_ = at; }
    void due(HostTime now);
    /// The coach leaves the question out that is asked now.
    void skip(HostTime now);
    [[nodiscard]] std::optional<HostTime> next_due() const { return due_; }
    void take(std::vector<CalibrationStep>& out);
    [[nodiscard]] const CalibrationFindings& findings() const { return findings_; }
    [[nodiscard]] bool done() const { return stage_ == Stage::done; }

  private:
    enum class Stage : std::uint8_t { idle, noise, pads, gates, sound, screen, done };
    void next_pad(HostTime now);
    void next_gate(HostTime now);
    void begin_sound(HostTime now);
    void begin_screen(HostTime now);
    void next_repeat(HostTime now);
    void on_level(const PadLevel& level, HostTime now);
    void finish_strike(HostTime now);
    void finish_pad(HostTime now);
    void finish_gate(HostTime now);
    /// What the sync input noticed of a device.
    [[nodiscard]] DelayFinding* measured();
    void finish_delay(HostTime now);
    void end();
    void say(std::string text) { steps_.push_back(CalibrationPrompt{std::move(text)}); }
    [[nodiscard]] PadFinding* finding(PadRole pad);

    CalibrationDevices devices_;
    bool has_sync_ = false;
    Stage stage_ = Stage::idle;
    std::optional<HostTime> due_;
    CalibrationFindings findings_;
    std::vector<CalibrationStep> steps_;
    std::size_t at_ = 0;
    // the strike under way, from the level stream: it needs no threshold
    std::uint16_t peak_ = 0;
    std::array<std::uint16_t, 4> others_{};
    std::optional<HostTime> strike_ends_;
    bool gate_seen_ = false;
    std::optional<TargetTime> began_at_;
    std::vector<Duration> delays_;
};

/// One line for each finding, for people, and the table of crosstalk.
[[nodiscard]] std::vector<std::string> finding_lines(const CalibrationFindings& findings);

}  // namespace breakstep
