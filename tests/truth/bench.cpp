#include "truth/bench.hpp"

#include <fmt/format.h>

#include <cmath>
#include <stdexcept>
#include <utility>

namespace breakstep::tests {
namespace {

constexpr double threshold = 60;  // the firmware's first value, left as it is
constexpr std::uint8_t debounce_key = WIRE_SETTING_GATE_DEBOUNCE;

Drill truth_drill(CueKind cue, int reps, Duration wait_extra) {
    Drill drill;
    drill.name = "truth";
    drill.title = "known strikes";
    drill.attacks = {AttackChoice{}};
    drill.sets = 1;
    drill.reps = reps;
    drill.rest = 1s;
    drill.wait_minimum = 300ms;
    drill.wait_extra = wait_extra;
    drill.wait_cap = 5s;
    drill.lamps = cue == CueKind::lamps;
    drill.sound = cue == CueKind::sound;
    drill.screen = false;
    return drill;
}

}  // namespace

void LegReport::add(const LegReport& other) {
    const auto append = [](auto& to, const auto& from) { to.insert(to.end(), from.begin(), from.end()); };
    append(lamp_cued, other.lamp_cued);
    append(host_cued, other.host_cued);
    append(lamps_us, other.lamps_us);
    append(stamps.capture_us, other.stamps.capture_us);
    append(stamps.interrupt_us, other.stamps.interrupt_us);
    append(stamps.pin_change_us, other.stamps.pin_change_us);
    append(stamps.pads_us, other.stamps.pads_us);
    stamps.lost += other.stamps.lost;
    stamps.doubled += other.stamps.doubled;
    stamps.altered += other.stamps.altered;
    stamps.events += other.stamps.events;
    reps += other.reps;
    unscored += other.unscored;
    append(unscored_because, other.unscored_because);
    unstruck += other.unstruck;
    voided += other.voided;
    damaged += other.damaged;
    resets += other.resets;
}

Bench::Bench(const EngineSettings& settings, const BoardOptions& board_options, std::uint64_t seed)
    : random_(seed, 31), engine_(settings), board_(board_options) {}

void Bench::begin(const TrueTime& time, HostTime now) {
    time_ = time;
    now_ = now;
    sound_.emplace(now, 35e-6, random_.next());
    engine_.port(true, now);
    drain(now);
}

HostTime Bench::next_own_due() const {
    HostTime next = sound_->next_due();
    for (const auto& other : {engine_.next_due(), next_act()})
        if (other && *other < next) next = *other;
    return next;
}

void Bench::take_own_due(HostTime now) {
    sound_->due(engine_, now);
    if (const auto due = engine_.next_due(); due && *due <= now) engine_.due(now);
    if (const auto due = next_act(); due && *due <= now) act(now);
    drain(now);
}

void Bench::connect(Duration patience) {
    const HostTime limit = now_ + patience;
    while (!engine_.link().connected() || engine_.link().bound() > 500us) {
        if (step(limit)) continue;
        throw std::runtime_error(
            fmt::format("{} after {} s, the clock good to {} us",
                        engine_.link().connected() ? "the clock was not good enough" : "the host did not find the rig",
                        std::chrono::duration_cast<std::chrono::seconds>(patience).count(),
                        std::chrono::duration_cast<std::chrono::microseconds>(engine_.link().bound()).count()));
    }
}

void Bench::pass(Duration span) {
    const HostTime until = now_ + span;
    while (step(until)) {
    }
}

int Bench::scored(CueKind cue) const {
    int found = 0;
    for (const auto& [key, rep] : reps_)
        found += rep.cue == cue && rep.crossing != 0 && rep.result && rep.result->latency ? 1 : 0;
    return found;
}

void Bench::run_session(CueKind cue, int reps) {
    cue_ = cue;
    SessionBegan session;
    session.athlete = AthleteId{1};
    session.drill = truth_drill(cue, reps, wait_extra_);
    run_session(std::move(session), 60s + reps * 10s);
}

void Bench::run_session(SessionBegan session, Duration longest) {
    ++session_;
    session_done_ = false;
    session.session = SessionId{session_};
    session.seed = (std::uint64_t{random_.next()} << 32) + random_.next();
    engine_.input(StartSession{session}, now_);
    drain(now_);
    const HostTime limit = now_ + longest;
    while (!session_done_) {
        if (!step(limit)) throw std::runtime_error("a session did not end");
        start_when_asked();
        on_step();
    }
}

bool Bench::running() const {
    const Conduct* conduct = engine_.conduct();
    return conduct != nullptr && conduct->scene().kind == SceneKind::running;
}

/// The set begins when the athlete strikes a pad.
void Bench::start_when_asked() {
    const Conduct* conduct = engine_.conduct();
    if (conduct == nullptr || conduct->scene().kind != SceneKind::awaiting_start || now_ < start_again_) return;
    start_again_ = now_ + 1s;
    strike(time_->cycle_at(now_ + 150ms));
}

std::uint64_t Bench::strike(std::uint64_t at) {
    const unsigned pad = random_.below(pad_count);
    const double peak = 150 * std::pow(6.5, random_.unit()), rise_us = random_.uniform(40, 90);
    const auto rise = static_cast<std::uint64_t>(rise_us * cycles_per_us);
    board_.strike(at, pad, peak, static_cast<double>(rise) / cycles_per_us, random_.uniform(3, 6));
    const auto crossing = at + static_cast<std::uint64_t>(std::ceil(static_cast<double>(rise) * threshold / peak));
    ledger_.pad_struck(crossing, pad, peak);
    return crossing;
}

void Bench::walk(std::uint64_t cycle, unsigned gate, bool broken) {
    board_.gate(cycle, gate, broken);
    ledger_.gate_moved(cycle, gate, broken);
}

void Bench::run_edges(std::uint64_t edges, double per_second) {
    for (std::uint8_t gate = 0; gate < gate_count; ++gate) engine_.input(ChangeSetting{debounce_key, gate, 0}, now_);
    drain(now_);
    pass(1s);
    std::array<bool, gate_count> broken{};
    std::array<HostTime, gate_count> moved{};
    HostTime at = now_ + 20ms;
    while (edges != 0) {
        const HostTime until = now_ + 100ms;
        for (; edges != 0 && at < until + 50ms; --edges) {
            const unsigned gate = random_.below(gate_count);
            HostTime when = at;
            if (when < moved[gate] + 3ms) when = moved[gate] + 3ms;
            moved[gate] = when;
            broken[gate] = !broken[gate];
            walk(time_->cycle_at(when), gate, broken[gate]);
            at += Duration(static_cast<std::int64_t>(random_.exponential(1e9 / per_second)));
        }
        while (step(until)) {
        }
    }
    pass(500ms);
}

void Bench::drain(HostTime now) {
    engine_.drain(out_);
    const std::vector<OutFrame> frames = std::move(out_.frames);
    for (const JournalRecord& record : out_.records) take(record);
    for (const ScoreResult& result : out_.results) {
        if (const auto* rep = std::get_if<RepResult>(&result))
            reps_[{session_, static_cast<std::int32_t>(rep->rep)}].result = *rep;
    }
    for (const SoundCommand& command : out_.sounds) sound_->take(command);
    for (const LinkEvent& answer : out_.rig_answers) {
        if (const auto* edge = std::get_if<GateEdge>(&answer)) ledger_.told(*edge);
        if (const auto* hit = std::get_if<PadHit>(&answer)) ledger_.told(*hit);
        if (const auto* rig = std::get_if<RigConnected>(&answer)) take(*rig);
        on_rig_answer(answer);
    }
    for (const TargetTime at : out_.test_sounds) on_test_sound(at);
    for (const TargetTime at : out_.flashes) on_flash(at);
    for (const PartnerCue& cue : out_.partner_cues) on_partner_cue(cue);
    if (out_.session_done) session_done_ = true;
    const bool any = out_.session && !out_.records.empty();
    const std::int64_t last = any ? out_.records.back().position : 0;
    out_.clear();
    for (const OutFrame& frame : frames) write(frame, now);
    if (any) {
        engine_.committed(SessionId{session_}, last, now);
        drain(now);
    }
}

void Bench::take(const JournalRecord& record) {
    if (const auto* edge = std::get_if<GateEdge>(&record.event)) ledger_.told(*edge);
    if (const auto* hit = std::get_if<PadHit>(&record.event)) ledger_.told(*hit);
    if (const auto* rep = std::get_if<RepOpened>(&record.event)) take(*rep);
    if (const auto* phase = std::get_if<PhaseBegan>(&record.event)) take(*phase);
    if (const auto* onset = std::get_if<CueOnset>(&record.event)) take(*onset);
    if (const auto* lamps = std::get_if<LampsSet>(&record.event)) take(*lamps);
    if (const auto* rig = std::get_if<RigConnected>(&record.event)) take(*rig);
    on_record(record);
}

/// The athlete comes in past the far and the near mark, strikes within the drop, and leaves again.
void Bench::take(const RepOpened& rep) {
    if (rep.catch_trial || !strikes_by_plan_) return;
    Duration until_drop{};
    std::int32_t index = 0;
    for (const AttackPhase& phase : rep.phases) {
        if (phase.phase == Phase::drop) break;
        until_drop += phase.length;
        ++index;
    }
    const std::pair<std::uint64_t, std::int32_t> key{session_, static_cast<std::int32_t>(rep.rep)};
    // A sound is heard where it was wanted; the athlete, as far as the truth goes, strikes when it pleases.
    const Duration after(static_cast<std::int64_t>(random_.uniform(10e6, 110e6)));
    const std::uint64_t at = cycle_of(rep.onset + until_drop + after);
    // Nobody can strike in the past: a host that was kept from its processor for so long is told of in the report.
    if (time_->time_of(at) < now_ + 300ms) {
        ++unstruck_;
        return;
    }
    asked_index_[key] = index;
    reps_[key].crossing = strike(at);
    reps_[key].cue = cue_;
    walk_in_and_out(at);
}

void Bench::walk_in_and_out(std::uint64_t at) {
    const auto before = [at](int ms) { return at - static_cast<std::uint64_t>(ms) * cycles_per_ms; };
    const auto behind = [at](int ms) { return at + static_cast<std::uint64_t>(ms) * cycles_per_ms; };
    walk(before(260), 3, true);
    walk(before(215), 3, false);
    walk(before(130) + random_.below(16'000), 0, true);
    walk(before(85), 0, false);
    walk(behind(120), 0, true);
    walk(behind(160) + random_.below(16'000), 0, false);
    walk(behind(215), 3, true);
    walk(behind(255), 3, false);
}

void Bench::take(const PhaseBegan& phase) {
    const std::pair<std::uint64_t, std::int32_t> key{session_, static_cast<std::int32_t>(phase.rep)};
    const auto asked = asked_index_.find(key);
    if (asked == asked_index_.end() || asked->second != phase.index) return;
    if (phase.source == OnsetSource::lamp) {
        if (cue_ != CueKind::lamps) return;
        reps_[key].onset = lamp_change_near(cycle_of(phase.at));
    } else if (const auto sound = heard_.find(key); sound != heard_.end() && sound->second.first == phase.index) {
        reps_[key].onset = time_->cycle_at(sound_->heard(sound->second.second));
    }
}

void Bench::take(const CueOnset& onset) {
    const std::pair<std::uint64_t, std::int32_t> key{session_, static_cast<std::int32_t>(onset.rep)};
    const auto asked = asked_index_.find(key);
    if (onset.source != OnsetSource::sound || asked == asked_index_.end() || asked->second != onset.index) return;
    heard_[key] = {onset.index, onset.frame};
    if (cue_ == CueKind::sound) reps_[key].onset = time_->cycle_at(sound_->heard(onset.frame));
}

void Bench::take(const LampsSet& lamps) {
    if (lamps.lit == lit_told_) return;
    lit_told_ = lamps.lit;
    const std::uint64_t told = cycle_of(lamps.at);
    const auto truth = lamp_change_near(told);
    lamps_us_.push_back(truth ? rig_us(*truth, told) : 1e6);
}

void Bench::take(const RigConnected& rig) { boots_.try_emplace(rig.boot, board_.boots().size() - 1); }

std::uint64_t Bench::cycle_of(TargetTime time) const {
    const auto known = boots_.find(time.boot());
    const BoardBoot& boot = known == boots_.end() ? board_.boots().back() : board_.boots()[known->second];
    return boot.clock_zero + static_cast<std::uint64_t>(time.since_boot().count() * 16 / 1000);
}

std::optional<std::uint64_t> Bench::lamp_change_near(std::uint64_t cycle) const {
    for (auto change = board_.lamps().rbegin(); change != board_.lamps().rend(); ++change) {
        const double apart = rig_us(change->cycle, cycle);
        if (std::abs(apart) < 1000) return change->cycle;
        if (apart > 10e6) break;
    }
    return std::nullopt;
}

LegReport Bench::report() {
    LegReport report;
    report.stamps = ledger_.compare(board_.boots().back().clock_zero);
    report.lamps_us = lamps_us_;
    report.resets = board_.boots().size() - 1;
    report.unstruck = unstruck_;
    for (const auto& [key, rep] : reps_) {
        if (rep.crossing == 0) continue;
        if (rep.result && rep.result->verdict == Verdict::void_rep) {
            ++report.voided;
            continue;
        }
        if (!rep.onset || !rep.result || !rep.result->latency) {
            ++report.unscored;
            report.unscored_because.push_back(
                fmt::format("{} rep {} struck at cycle {}: {}, {}", rep.cue == CueKind::lamps ? "lamps" : "sound",
                            key.second, rep.crossing, rep.onset ? "cued" : "no cue seen",
                            rep.result ? "no latency, verdict " + std::string(word(rep.result->verdict))
                                       : std::string("no result")));
            continue;
        }
        ++report.reps;
        LatencyError error;
        // In true time, not in the rig's own.
        const Duration truth = time_->time_of(rep.crossing) - time_->time_of(*rep.onset);
        error.us = static_cast<double>((*rep.result->latency - truth).count()) * 1e-3;
        error.stated_us = static_cast<double>(rep.result->uncertainty.count()) * 1e-3;
        (rep.cue == CueKind::lamps ? report.lamp_cued : report.host_cued).push_back(error);
    }
    return report;
}

}  // namespace breakstep::tests
