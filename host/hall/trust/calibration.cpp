#include "hall/trust/calibration.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "wire/wire.h"

namespace breakstep {
namespace {

// A level is a strike if it is well above the floor of its pad.
constexpr std::uint16_t strike_above_noise = 25;
// Levels come every 50 ms for each pad; one blow is over after a few of them.
constexpr Duration strike_span = 250ms;
constexpr std::uint16_t threshold_least = 10, threshold_most = 1000;
// A delay outside this is some other sound.
constexpr Duration delay_most = 500ms;
constexpr std::size_t repeats_needed = 20;

}  // namespace

RigCalibration::RigCalibration(const RigConnected& rig, CalibrationDevices devices) : devices_(devices) {
    for (const Channel& channel : rig.channels) {
        if (channel.kind == ChannelKind::pad && channel.role <= static_cast<std::uint8_t>(PadRole::low_right)) {
            PadFinding pad;
            pad.pad = static_cast<PadRole>(channel.role);
            pad.index = channel.index;
            findings_.pads.push_back(pad);
        }
        const bool mark = channel.role <= static_cast<std::uint8_t>(GateRole::hip) ||
                          channel.role == static_cast<std::uint8_t>(GateRole::partner_back_mark);
        if (channel.kind == ChannelKind::gate && mark) {
            GateFinding gate;
            gate.gate = static_cast<GateRole>(channel.role);
            gate.optional = channel.optional;
            findings_.gates.push_back(gate);
        }
        if (channel.kind == ChannelKind::sync) has_sync_ = true;
    }
}

PadFinding* RigCalibration::finding(PadRole pad) {
    const auto found = std::find_if(findings_.pads.begin(), findings_.pads.end(),
                                    [pad](const PadFinding& each) { return each.pad == pad; });
    return found == findings_.pads.end() ? nullptr : &*found;
}

void RigCalibration::begin(HostTime now) {
    stage_ = Stage::noise;
    steps_.push_back(EngineInput{SwitchLevels{true}});
    say("Nobody touches the target for two seconds.");
    due_ = now + quiet_time;
}

void RigCalibration::take(std::vector<CalibrationStep>& out) {
    for (CalibrationStep& step : steps_) out.push_back(std::move(step));
    steps_.clear();
}

void RigCalibration::due(HostTime now) {
    if (strike_ends_ && now >= *strike_ends_) finish_strike(now);
    if (!due_ || now < *due_) return;
    switch (stage_) {
        case Stage::noise:
            stage_ = Stage::pads;
            at_ = 0;
            next_pad(now);
            break;
        case Stage::pads:
            finish_pad(now);
            break;
        case Stage::gates:
            finish_gate(now);
            break;
        case Stage::sound:
        case Stage::screen:
            next_repeat(now);
            break;
        case Stage::idle:
        case Stage::done:
            due_.reset();
            break;
    }
}

void RigCalibration::event(const LinkEvent& event, HostTime now) {
    if (const auto* level = std::get_if<PadLevel>(&event)) on_level(*level, now);
    if (const auto* edge = std::get_if<GateEdge>(&event); edge != nullptr && stage_ == Stage::gates) {
        GateFinding& gate = findings_.gates[at_];
        if (edge->gate != gate.gate) return;
        ++(edge->broken ? gate.breaks : gate.restores);
        if (!gate_seen_ && edge->broken) {
            gate_seen_ = true;
            say("Now clear it again.");
            due_ = now + gate_watch;
        }
    }
    if (const auto* sync = std::get_if<SyncEdge>(&event); sync != nullptr && measured() != nullptr && sync->rising) {
        if (!began_at_ || !began_at_->same_boot(sync->at)) return;
        const Duration delay = sync->at - *began_at_;
        if (delay < Duration{} || delay > delay_most) return;
        delays_.push_back(delay);
        began_at_.reset();
    }
}

void RigCalibration::on_level(const PadLevel& level, HostTime now) {
    PadFinding* pad = finding(level.pad);
    if (pad == nullptr) return;
    if (stage_ == Stage::noise) pad->noise = std::max(pad->noise, level.level);
    if (stage_ != Stage::pads || at_ >= findings_.pads.size()) return;
    PadFinding& asked = findings_.pads[at_];
    if (level.pad == asked.pad) {
        steps_.push_back(CalibrationLevel{level.pad, level.level, asked.strikes.size()});
        if (level.level > asked.noise + strike_above_noise) {
            peak_ = std::max(peak_, level.level);
            if (!strike_ends_) strike_ends_ = now + strike_span;
        }
    } else {
        // A neighbour's level counts if it comes with the strike, just before it in the stream included.
        auto& other = others_[static_cast<std::size_t>(level.pad)];
        other = strike_ends_ ? std::max(other, level.level) : level.level;
    }
    if (strike_ends_ && (!due_ || *strike_ends_ < *due_)) due_ = *strike_ends_;
}

void RigCalibration::next_pad(HostTime now) {
    strike_ends_.reset();
    peak_ = 0;
    others_ = {};
    if (at_ >= findings_.pads.size()) {
        steps_.push_back(EngineInput{SwitchLevels{false}});
        stage_ = Stage::gates;
        at_ = 0;
        next_gate(now);
        return;
    }
    say(fmt::format("Strike the pad {} lightly, {} times.", word(findings_.pads[at_].pad), light_strikes));
    due_ = now + strike_patience;
}

void RigCalibration::finish_strike(HostTime now) {
    PadFinding& pad = findings_.pads[at_];
    pad.strikes.push_back(peak_);
    for (const PadFinding& other : findings_.pads) {
        const auto i = static_cast<std::size_t>(other.pad);
        if (other.pad == pad.pad || others_[i] <= other.noise) continue;
        pad.crosstalk[i] = std::max(pad.crosstalk[i], static_cast<double>(others_[i] - other.noise) / peak_);
    }
    strike_ends_.reset();
    peak_ = 0;
    others_ = {};
    due_ = now + strike_patience;
    if (pad.strikes.size() >= light_strikes) finish_pad(now);
}

void RigCalibration::finish_pad(HostTime now) {
    if (strike_ends_) return finish_strike(now);
    PadFinding& pad = findings_.pads[at_];
    pad.dead = pad.strikes.empty() && !pad.skipped;
    if (!pad.strikes.empty()) {
        // Half way, on the scale of ratios, between the floor and the lightest strike that should count.
        const double lightest = *std::min_element(pad.strikes.begin(), pad.strikes.end());
        const double floor = std::max<double>(1, pad.noise);
        const double middle = std::sqrt(floor * lightest);
        pad.threshold =
            static_cast<std::uint16_t>(std::clamp<long>(std::lround(middle), threshold_least, threshold_most));
        steps_.push_back(EngineInput{ChangeSetting{WIRE_SETTING_PAD_THRESHOLD, pad.index, pad.threshold}});
    } else if (pad.dead) {
        say(fmt::format("Nothing came from the pad {}.", word(pad.pad)));
    }
    ++at_;
    next_pad(now);
}

void RigCalibration::next_gate(HostTime now) {
    gate_seen_ = false;
    if (at_ < findings_.gates.size()) {
        say(fmt::format("Block the gate {} with a hand, hold it for a second, then clear it.",
                        word(findings_.gates[at_].gate)));
        due_ = now + gate_patience;
        return;
    }
    begin_sound(now);
}

void RigCalibration::finish_gate(HostTime now) {
    GateFinding& gate = findings_.gates[at_];
    // One hand breaks a beam once and clears it once; more is a bad alignment or a loose plug.
    const bool once = gate.breaks == 1 && gate.restores == 1;
    const GateVerdict silent = gate.optional ? GateVerdict::absent : GateVerdict::dead;
    gate.verdict = gate.breaks == 0 ? silent : once ? GateVerdict::good : GateVerdict::flickers;
    if (gate.verdict == GateVerdict::dead) say(fmt::format("Nothing came from the gate {}.", word(gate.gate)));
    ++at_;
    next_gate(now);
}

void RigCalibration::skip(HostTime now) {
    switch (stage_) {
        case Stage::pads:
            // A strike under way is finished first; those before it count.
            if (strike_ends_) return;
            findings_.pads[at_].skipped = findings_.pads[at_].strikes.empty();
            finish_pad(now);
            break;
        case Stage::gates:
            if (gate_seen_) return;
            findings_.gates[at_].verdict = GateVerdict::skipped;
            ++at_;
            next_gate(now);
            break;
        case Stage::sound:
            findings_.sound.reset();
            begin_screen(now);
            break;
        case Stage::screen:
            findings_.screen.reset();
            end();
            break;
        case Stage::idle:
        case Stage::noise:
        case Stage::done:
            break;
    }
}

void RigCalibration::end() {
    stage_ = Stage::done;
    due_.reset();
    steps_.push_back(CalibrationDone{});
}

void RigCalibration::begin_sound(HostTime now) {
    if (!devices_.sound || !has_sync_) return begin_screen(now);
    stage_ = Stage::sound;
    findings_.sound.emplace();
    say(fmt::format("Hold the sync microphone to the loudspeaker: {} sounds follow.", repeats));
    due_ = now + 2 * repeat_period;
}

void RigCalibration::begin_screen(HostTime now) {
    delays_.clear();
    began_at_.reset();
    if (devices_.screen && has_sync_) {
        stage_ = Stage::screen;
        findings_.screen.emplace();
        say(fmt::format("Hold the sync photodiode to the middle of the screen: {} flashes of a white square follow.",
                        repeats));
        due_ = now + 5 * repeat_period;
        return;
    }
    end();
}

DelayFinding* RigCalibration::measured() {
    if (stage_ == Stage::sound) return &*findings_.sound;
    return stage_ == Stage::screen ? &*findings_.screen : nullptr;
}

void RigCalibration::next_repeat(HostTime now) {
    DelayFinding& device = *measured();
    if (device.made >= repeats) return finish_delay(now);
    began_at_.reset();
    ++device.made;
    if (stage_ == Stage::sound)
        steps_.push_back(CalibrationSound{});
    else
        steps_.push_back(CalibrationFlash{device.made, flash_length});
    // 700, 707, 714 ... ms: so the flashes begin all over the screen's period, and their spread is the true one.
    due_ = now + repeat_period + 7ms * (device.made % 10);
}

void RigCalibration::finish_delay(HostTime now) {
    DelayFinding& device = *measured();
    device.noticed = static_cast<std::int32_t>(delays_.size());
    if (delays_.size() >= repeats_needed) {
        std::sort(delays_.begin(), delays_.end());
        device.delay = delays_[delays_.size() / 2];
        // Of thirty repeats the farthest stands for 99 in 100.
        device.spread = std::max(device.delay - delays_.front(), delays_.back() - device.delay);
    } else if (stage_ == Stage::sound) {
        say("The sounds were not heard: is the microphone at the loudspeaker, and the sound loud enough?");
    } else {
        say("The flashes were not seen: is the photodiode at the middle of the screen, and the screen bright enough?");
    }
    if (stage_ == Stage::sound) return begin_screen(now);
    end();
}

namespace {

void add_delay_line(const std::optional<DelayFinding>& device, const char* name, std::vector<std::string>& lines) {
    if (!device) return;
    if (device->spread == unknown_uncertainty)
        lines.push_back(fmt::format("{:<15} noticed {} of {}: not measured", name, device->noticed, device->made));
    else
        lines.push_back(fmt::format("{:<15} {:.1f} ms late, give or take {:.2f}", name,
                                    static_cast<double>(device->delay.count()) / 1e6,
                                    static_cast<double>(device->spread.count()) / 1e6));
}

std::string pad_line(const PadFinding& pad) {
    const std::string name = fmt::format("pad {:<11} ", word(pad.pad));
    if (pad.dead) return name + "DEAD: look at its plug, clamp and disc";
    if (pad.skipped) return name + "not tested: its threshold stays";
    return name + fmt::format("noise {}, lightest strike {}, threshold {}", pad.noise,
                              *std::min_element(pad.strikes.begin(), pad.strikes.end()), pad.threshold);
}

const char* words_of(GateVerdict verdict) {
    switch (verdict) {
        case GateVerdict::good:
            return "good";
        case GateVerdict::flickers:
            return "FLICKERS: align it, tighten its plug";
        case GateVerdict::absent:
            return "silent: nothing need be plugged in there";
        case GateVerdict::skipped:
            return "not tested";
        case GateVerdict::dead:
            break;
    }
    return "DEAD: look at its plug, lamp and alignment";
}

/// A row for each pad that was struck: how much of its strikes reached the others, in % of the strike.
void add_crosstalk(const std::vector<PadFinding>& pads, std::vector<std::string>& lines) {
    const auto struck = [](const PadFinding& pad) { return !pad.strikes.empty(); };
    if (pads.size() < 2 || std::none_of(pads.begin(), pads.end(), struck)) return;
    std::string head = fmt::format("{:<20}", "crosstalk, %");
    for (const PadFinding& other : pads) head += fmt::format(" {:>11}", word(other.pad));
    lines.push_back(head);
    for (const PadFinding& pad : pads) {
        if (!struck(pad)) continue;
        std::string row = fmt::format("{:<20}", fmt::format("  {} struck", word(pad.pad)));
        for (const PadFinding& other : pads)
            row += other.pad == pad.pad
                       ? fmt::format(" {:>11}", "-")
                       : fmt::format(" {:>11.0f}", 100 * pad.crosstalk[static_cast<std::size_t>(other.pad)]);
        lines.push_back(row);
    }
}

}  // namespace

std::vector<std::string> finding_lines(const CalibrationFindings& findings) {
    std::vector<std::string> lines;
    for (const PadFinding& pad : findings.pads) lines.push_back(pad_line(pad));
    add_crosstalk(findings.pads, lines);
    for (const GateFinding& gate : findings.gates)
        lines.push_back(fmt::format("gate {:<14} {}", word(gate.gate), words_of(gate.verdict)));
    add_delay_line(findings.sound, "sound", lines);
    add_delay_line(findings.screen, "screen", lines);
    return lines;
}

}  // namespace breakstep
