#include "truth/lock_step.hpp"

#include <algorithm>
#include <utility>

namespace breakstep::tests {
namespace {

EngineSettings engine_settings(const LockStepSettings& settings) {
    EngineSettings engine;
    engine.seed = settings.seed;
    engine.link.slow_latency_timer = settings.slow_latency_timer;
    engine.devices.sound = true;
    engine.devices.partner_screen = settings.partner;
    engine.sound_delay = CueDelay{SoundStream::delay, SoundStream::delay_spread};
    return engine;
}

}  // namespace

LockStepBench::LockStepBench(const LockStepSettings& settings)
    : Bench(engine_settings(settings), {settings.seed, "", false, 0}, settings.seed),
      settings_(settings),
      line_(new_line()) {
    // The firmware reads the switch as it starts.
    if (settings.partner) board_.pin(0, "solo", false);
    const HostTime begin{5s};
    Bench::begin(TrueTime(begin, settings.drift), begin);
}

UsbLine LockStepBench::new_line() {
    return UsbLine({settings_.slow_latency_timer, settings_.damage}, settings_.seed + 1'000 * lines_++);
}

/// The board is run to the moment that is next; if it says something on the way, that may become next.
bool LockStepBench::step(HostTime limit) {
    HostTime next = std::min(limit, next_own_due());
    if (const auto chunk = line_.next_due()) next = std::min(next, *chunk);
    next = std::max(next, now_);
    if (const std::uint64_t target = time_->cycle_not_before(next); board_.cycle() < target) {
        board_.run(target);
        for (const BoardByte& byte : board_.take_sent())
            if (plugged_) line_.from_rig(time_->time_of(byte.cycle + cycles_per_byte), byte.value);
        return true;
    }
    now_ = next;
    if (const auto chunk = line_.next_due(); chunk && *chunk <= now_) {
        const UsbLine::Chunk arrived = line_.take();
        engine_.bytes(now_, arrived.bytes);
        drain(now_);
        return true;
    }
    if (next_own_due() <= now_) {
        take_own_due(now_);
        return true;
    }
    return now_ < limit;
}

void LockStepBench::write(const OutFrame& frame, HostTime now) {
    if (!plugged_) return;
    engine_.sent(frame.id, now);
    std::vector<std::uint8_t> bytes(frame.bytes.begin(), frame.bytes.begin() + frame.size);
    const HostTime begins = line_.to_rig(now, bytes);
    board_.bytes(time_->cycle_not_before(begins), bytes.data(), bytes.size());
}

void LockStepBench::pull_cable() {
    plugged_ = false;
    damaged_ += line_.damaged();
    line_ = new_line();
    engine_.port(false, now_);
    drain(now_);
}

void LockStepBench::plug_in() {
    plugged_ = true;
    engine_.port(true, now_);
    drain(now_);
}

std::uint64_t LockStepBench::reset_board() {
    const std::uint64_t at = time_->cycle_not_before(now_);
    board_.reset(at);
    return at;
}

LegReport run_in_lock_step(const LockStepSettings& settings, int lamp_reps, int sound_reps, std::uint64_t edges) {
    constexpr int reps_a_set = 60;
    LockStepBench bench(settings);
    bench.connect(bench.patience());
    // Behind the slow timer few pings are lucky, and the rate is known well only after a minute: an evening has that.
    if (settings.slow_latency_timer) bench.pass(60s);
    for (const auto& [cue, wanted] : {std::pair{CueKind::lamps, lamp_reps}, std::pair{CueKind::sound, sound_reps}}) {
        // A rep that the host voids because its clock's bound grew too wide is told as such, and another one is done.
        for (int tries = 0; tries < wanted / 10 + 5 && bench.scored(cue) < wanted; ++tries) {
            bench.run_session(cue, std::min(wanted - bench.scored(cue), reps_a_set));
        }
    }
    // With the slow timer events wait longer for their acknowledgement, and the rig keeps 34 of them.
    if (edges != 0) bench.run_edges(edges, settings.slow_latency_timer ? 120 : 250);
    LegReport report = bench.report();
    report.damaged = bench.damaged();
    return report;
}

}  // namespace breakstep::tests
