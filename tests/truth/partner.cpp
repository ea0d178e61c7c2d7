#include "truth/partner.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "truth/lock_step.hpp"

namespace breakstep::tests {
namespace {

constexpr int reps_a_session = 20;
// What is told of a channel lies that near to what happened there, or it is something else.
constexpr double same_event_us = 1000;

/// As config/drills has it, with the waits as short as a partner's drill may have them.
Drill partner_drill() {
    Drill drill;
    drill.name = "truth";
    drill.title = "a known leg";
    drill.partner.source = AttackSource::partner;
    drill.attacks.clear();
    for (const auto& [kind, moment] : {std::pair{AttackKind::single, Moment::drop},
                                       {AttackKind::rebound, Moment::drop},
                                       {AttackKind::carry, Moment::drop},
                                       {AttackKind::reset, Moment::gap},
                                       {AttackKind::leg_to_hands, Moment::gap},
                                       {AttackKind::feint, Moment::drop}}) {
        AttackChoice choice;
        choice.kind = kind;
        choice.moment = moment;
        drill.attacks.push_back(choice);
    }
    drill.sets = 1;
    drill.reps = reps_a_session;
    drill.rest = 1s;
    drill.wait_minimum = 300ms;
    drill.wait_extra = 300ms;
    drill.wait_cap = 5s;
    drill.lamps = false;
    drill.sound = false;
    drill.screen = false;
    return drill;
}

/// Whose channel: gates as their roles, pads behind them.
struct TrueEvent {
    std::uint64_t cycle;
    HostTime at;
};

class PartnerBench : public LockStepBench {
  public:
    explicit PartnerBench(const LockStepSettings& settings) : LockStepBench(settings) { strikes_by_plan_ = false; }

    void play(PartnerReport& report);
    [[nodiscard]] HostTime now() const { return now_; }

  private:
    [[nodiscard]] std::optional<HostTime> next_act() const override;
    void act(HostTime now) override;
    void on_partner_cue(const PartnerCue& cue) override;
    void on_record(const JournalRecord& record) override { records_.push_back(record); }

    void move(HostTime now, const BeamAct& beam);
    void answer(HostTime now, const LegTruth& leg);
    [[nodiscard]] std::vector<RigTruth> truths() const;
    [[nodiscard]] std::uint64_t now_cycle(HostTime at) const {
        return std::max(time_->cycle_not_before(at), board_.cycle());
    }

    std::optional<PartnerModel> partner_;
    std::optional<HostTime> cue_, tap_;
    std::size_t legs_seen_ = 0;
    std::vector<AthleteAct> acts_;
    std::vector<JournalRecord> records_;
    std::map<GateRole, std::vector<TrueEvent>> leg_gates_;
    std::vector<TrueEvent> blows_;
    HostTime walk_over_{};
};

std::optional<HostTime> PartnerBench::next_act() const {
    std::optional<HostTime> next = cue_;
    if (tap_ && (!next || *tap_ < *next)) next = tap_;
    if (partner_)
        if (const auto due = partner_->next_due(); due && (!next || *due < *next)) next = due;
    return next;
}

void PartnerBench::on_partner_cue(const PartnerCue& cue) {
    if (!partner_) return;
    partner_->due(now_);
    partner_->told(now_, cue.what);
    cue_ = std::max(now_, cue.at);
}

void PartnerBench::act(HostTime now) {
    if (cue_ && *cue_ <= now) partner_->cued(*std::exchange(cue_, std::nullopt));
    if (tap_ && *tap_ <= now) {
        tap_.reset();
        CoachInput tap;
        tap.act = CoachAct::tap_hands;
        engine_.input(Coach{tap}, now);
    }
    if (!partner_) return;
    partner_->due(now);
    for (; legs_seen_ < partner_->truths().size(); ++legs_seen_) answer(now, partner_->truths()[legs_seen_]);
    acts_.clear();
    partner_->take_acts(acts_);
    for (const AthleteAct& done : acts_)
        if (const auto* beam = std::get_if<BeamAct>(&done)) move(now, *beam);
}

void PartnerBench::move(HostTime now, const BeamAct& beam) {
    if (beam.gate == GateRole::hands) {
        // Seen by a coach, who taps a little later.
        if (beam.blocked) tap_ = now + Duration(static_cast<std::int64_t>(1e6 * random_.lognormal(220, 0.2)));
        return;
    }
    const std::uint64_t cycle = now_cycle(now);
    walk(cycle, static_cast<unsigned>(gate_of(beam.gate)), beam.blocked);
    leg_gates_[beam.gate].push_back({cycle, time_->time_of(cycle)});
}

// A blow anywhere in nine of ten legs, and up to a fifth of a second after them.
void PartnerBench::answer(HostTime now, const LegTruth& leg) {
    if (!random_.chance(0.9)) return;
    const double whole_ms = static_cast<double>((leg.borders.back().at - leg.toe_off).count()) / 1e6 + 200;
    const HostTime at = leg.toe_off + Duration(static_cast<std::int64_t>(1e6 * random_.uniform(5, whole_ms)));
    const std::uint64_t cycle = time_->cycle_not_before(at), crossing = strike(cycle);
    blows_.push_back({crossing, time_->time_of(crossing)});
    if (at < now + 300ms || at - 300ms < walk_over_) return;
    walk_in_and_out(cycle);
    walk_over_ = at + 300ms;
}

/// What happened, by the numbers that the rig told it with.
std::vector<RigTruth> PartnerBench::truths() const {
    std::vector<RigTruth> all;
    const auto find = [&](const std::vector<TrueEvent>& events, TargetTime told, std::uint16_t sequence) {
        const std::uint64_t cycle = cycle_of(told);
        auto near = std::lower_bound(events.begin(), events.end(), cycle,
                                     [](const TrueEvent& each, std::uint64_t value) { return each.cycle < value; });
        if (near != events.begin() && (near == events.end() || cycle - std::prev(near)->cycle < near->cycle - cycle))
            --near;
        if (near == events.end() || std::abs(rig_us(near->cycle, cycle)) > same_event_us) return;
        RigTruth truth{near->at, told.boot(), {}};
        truth.event.sequence = sequence;
        all.push_back(truth);
    };
    for (const JournalRecord& record : records_) {
        if (const auto* hit = std::get_if<PadHit>(&record.event)) find(blows_, hit->at, hit->sequence);
        if (const auto* edge = std::get_if<GateEdge>(&record.event))
            if (const auto gate = leg_gates_.find(edge->gate); gate != leg_gates_.end())
                find(gate->second, edge->at, edge->sequence);
    }
    return all;
}

void PartnerBench::play(PartnerReport& report) {
    records_.clear();
    SessionBegan session;
    session.athlete = AthleteId{1};
    session.participants = {{ParticipantRole::athlete, AthleteId{1}, Side::right},
                            {ParticipantRole::partner, AthleteId{2}, Side::right}};
    session.drill = partner_drill();
    PartnerSettings leg;
    leg.seed = (std::uint64_t{random_.next()} << 32) + random_.next();
    leg.lengths = session.drill.opponent;
    partner_.emplace(leg, now_);
    legs_seen_ = 0;
    run_session(std::move(session), 600s);
    PartnerAudit audit(truths(), *partner_);
    audit.add_to(report.figures, audit.session(records_, engine_.score()->reps()));
    ++report.sessions;
    // What the leg still does belongs to nobody: it comes down, and its partner steps out of the box.
    pass(5s);
    partner_.reset();
    cue_.reset();
    tap_.reset();
}

}  // namespace

void PartnerReport::add(const PartnerReport& other) {
    PartnerFigures& own = figures;
    const PartnerFigures& more = other.figures;
    const auto sum = [](auto& to, auto from) { to += from; };
    sum(own.reps, more.reps);
    sum(own.kicked, more.kicked);
    sum(own.voids, more.voids);
    sum(own.obeyed, more.obeyed);
    sum(own.asked, more.asked);
    sum(own.borders, more.borders);
    sum(own.borders_inside, more.borders_inside);
    sum(own.borders_unstated, more.borders_unstated);
    own.worst_border_us = std::max(own.worst_border_us, more.worst_border_us);
    sum(own.contacts, more.contacts);
    sum(own.contacts_near, more.contacts_near);
    sum(own.right_phase, more.right_phase);
    sum(own.kinds, more.kinds);
    sum(own.kinds_right, more.kinds_right);
    sum(own.second_lifts, more.second_lifts);
    sum(own.second_lifts_as_drop, more.second_lifts_as_drop);
    sum(own.bounces, more.bounces);
    sum(own.bounces_as_lift, more.bounces_as_lift);
    stamps.lost += other.stamps.lost;
    stamps.doubled += other.stamps.doubled;
    stamps.altered += other.stamps.altered;
    stamps.events += other.stamps.events;
    sessions += other.sessions;
    damaged += other.damaged;
    resets += other.resets;
    seconds += other.seconds;
}

PartnerReport run_partner(const LockStepSettings& given, std::uint64_t contacts) {
    LockStepSettings settings = given;
    settings.partner = true;
    PartnerBench bench(settings);
    bench.connect(bench.patience());
    if (settings.slow_latency_timer) bench.pass(60s);
    PartnerReport report;
    const HostTime begin = bench.now();
    const std::uint64_t sessions_most = 2 + contacts / 6;
    while (report.figures.contacts < contacts && report.sessions < sessions_most) bench.play(report);
    report.seconds = static_cast<double>((bench.now() - begin).count()) / 1e9;
    const LegReport line = bench.report();
    report.stamps = line.stamps;
    report.resets = line.resets;
    report.damaged = bench.damaged();
    return report;
}

}  // namespace breakstep::tests
