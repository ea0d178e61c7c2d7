#include "devices/simulated/partner_model.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "core/trade/rules.hpp"

namespace breakstep {
namespace {

constexpr std::array kinds{AttackKind::single, AttackKind::rebound,      AttackKind::carry,
                           AttackKind::reset,  AttackKind::leg_to_hands, AttackKind::feint};

// A foot that bounces leaves the floor for so long: less than a lift lasts.
constexpr double bounce_shortest_ms = 25, bounce_longest_ms = 145;
// Below the hip and up again without touchdown.
constexpr double below_shortest_ms = 50, below_longest_ms = 130;
// Hands pass their gate for so long.
constexpr Duration hand_in_beam = 60ms;
// A foot is not lifted again sooner, by whoever only bounces.
constexpr Duration between_attacks = 300ms;

Duration ms(double value) { return Duration(std::llround(value * 1e6)); }

}  // namespace

PartnerModel::PartnerModel(const PartnerSettings& settings, HostTime now)
    : settings_(settings), random_(settings.seed, 51), busy_until_(now) {}

PartnerSettings PartnerSettings::for_drill(const Drill& drill, std::uint64_t seed) {
    PartnerSettings settings;
    settings.seed = seed;
    settings.lengths = drill.opponent;
    if (drill.start == StartKind::free) settings.own_pace = 2500ms;
    if (drill.asks.rung != RungAim::edge) return settings;
    // Follows more than it leads: seldom goes by itself, and gives ground.
    settings.own_pace = 30s;
    settings.own_kinds = {70, 0, 5, 10, 5, 10};
    settings.room = 3;
    return settings;
}

Duration PartnerModel::reaction() {
    const double mean = static_cast<double>(settings_.reaction_mean.count()) / 1e6;
    return ms(std::max(150.0, random_.lognormal(mean, settings_.reaction_spread)));
}

AttackKind PartnerModel::any_other(AttackKind kind) {
    AttackKind other = kind;
    while (other == kind) other = kinds[random_.below(static_cast<std::uint32_t>(kinds.size()))];
    return other;
}

void PartnerModel::told(HostTime now, const AttackChoice& what) {
    told_ = what;
    early_ = !settings_.own_pace && random_.chance(settings_.goes_early);
    if (early_) agenda_.add(std::max(busy_until_, now + ms(random_.uniform(60, 300))), Go{what.kind, what.rebounds});
}

void PartnerModel::cued(HostTime at) {
    if (std::exchange(early_, false) || random_.chance(settings_.ignores)) return;
    const AttackKind kind = random_.chance(settings_.disobeys) ? any_other(told_.kind) : told_.kind;
    agenda_.add(std::max(busy_until_, at + reaction()), Go{kind, told_.rebounds});
}

void PartnerModel::retreat_seen(HostTime at) {
    if (!runs_ || settings_.springs_at_retreat == 0 || at < busy_until_) return;
    if (++retreats_ != settings_.springs_at_retreat || !random_.chance(settings_.springs)) return;
    ++plan_;
    const double mean = static_cast<double>(settings_.springs_after.count()) / 1e6;
    agenda_.add(at + ms(random_.lognormal(mean, 0.15)), Go{AttackKind::single, 1});
}

void PartnerModel::set_runs(HostTime now, bool runs) {
    if (runs == runs_) return;
    runs_ = runs;
    retreats_ = 0;
    happen(now, StepForward{});
    ++plan_;
    if (runs_) plan_own(now);
}

void PartnerModel::plan_own(HostTime from) {
    if (!settings_.own_pace || !runs_) return;
    const double mean = static_cast<double>(settings_.own_pace->count()) / 1e6;
    agenda_.add(from + settings_.own_shortest + ms(random_.exponential(mean)), OwnTime{plan_});
}

void PartnerModel::happen(HostTime now, const OwnTime& own) {
    if (own.plan != plan_ || !runs_) return;
    happen(now, Go{own_kind(), 1});
}

// ---- giving ground --------------------------------------------------------------------------------------------------

void PartnerModel::athlete_near(HostTime at, bool inside) {
    crowded_ = inside;
    if (inside) give_ground(at);
}

void PartnerModel::give_ground(HostTime from) {
    const bool has_room = settings_.room > 0 && ground_ < settings_.room;
    if (!runs_ || !has_room || from < busy_until_ || !random_.chance(settings_.yields)) return;
    const double mean = static_cast<double>(settings_.yields_after.count()) / 1e6;
    agenda_.add(from + ms(random_.lognormal(mean, 0.15)), StepBack{});
}

void PartnerModel::happen(HostTime now, const StepBack&) {
    if (!runs_ || now < busy_until_ || ground_ == settings_.room) return;
    // Who steps back does not kick meanwhile.
    ++plan_;
    plan_own(now);
    if (++ground_ < settings_.room) {
        if (crowded_) give_ground(now);
        return;
    }
    at_the_edge_.push_back(now);
    happen(now, Beam{GateRole::partner_back_mark, true});
    const bool attacks = random_.chance(settings_.attacks_at_edge);
    const Duration mean = attacks ? settings_.attacks_after : settings_.aside_after;
    const HostTime then = now + ms(random_.lognormal(static_cast<double>(mean.count()) / 1e6, 0.15));
    if (attacks)
        agenda_.add(then, Go{own_kind(), 1});
    else
        agenda_.add(then, StepForward{});
}

void PartnerModel::happen(HostTime now, const StepForward&) {
    ground_ = 0;
    const auto in = std::find(in_beams_.begin(), in_beams_.end(), GateRole::partner_back_mark);
    if (in != in_beams_.end()) happen(now, Beam{GateRole::partner_back_mark, false});
}

AttackKind PartnerModel::own_kind() {
    const auto& habit = settings_.own_habit;
    if (habit && last_kind_ == habit->first && random_.chance(settings_.own_habit_share)) return habit->second;
    double sum = 0;
    for (const double share : settings_.own_kinds) sum += share;
    double draw = random_.unit() * sum;
    for (std::size_t i = 0; i < kinds.size(); ++i) {
        draw -= settings_.own_kinds[i];
        if (draw < 0) return kinds[i];
    }
    return kinds.back();
}

void PartnerModel::due(HostTime now) {
    while (auto next = agenda_.take(now))
        std::visit([&](const auto& action) { happen(next->first, action); }, next->second);
}

void PartnerModel::take_acts(std::vector<AthleteAct>& out) {
    out.insert(out.end(), acts_.begin(), acts_.end());
    acts_.clear();
}

void PartnerModel::beam(HostTime from, HostTime to, GateRole gate) {
    agenda_.add(from, Beam{gate, true});
    agenda_.add(to, Beam{gate, false});
}

void PartnerModel::happen(HostTime now, const Beam& change) {
    acts_.push_back(BeamAct{now, change.gate, change.blocked});
    if (change.blocked)
        in_beams_.push_back(change.gate);
    else if (const auto known = std::find(in_beams_.begin(), in_beams_.end(), change.gate); known != in_beams_.end())
        in_beams_.erase(known);
}

void PartnerModel::leave(HostTime now) {
    agenda_.clear();
    for (const GateRole gate : in_beams_) acts_.push_back(BeamAct{now, gate, false});
    in_beams_.clear();
    looks_ = 0;
    ground_ = 0;
}

void PartnerModel::happen(HostTime, const Show& show) { looks_ = show.looks; }

void PartnerModel::happen(HostTime now, const Bounce&) {
    if (now < busy_until_) return;
    const HostTime down = now + ms(random_.uniform(bounce_shortest_ms, bounce_longest_ms));
    busy_until_ = down + 40ms;
    bounces_.push_back(now);
    beam(now, down, GateRole::low);
}

void PartnerModel::happen(HostTime now, const Go& go) {
    if (now < busy_until_) return;
    retreats_ = 0;
    last_kind_ = go.kind;
    std::vector<AttackPhase> phases = draw_attack(settings_.lengths, go.kind, go.rebounds, random_);
    const bool kicks = go.kind != AttackKind::feint;
    const bool lingers = kicks && random_.chance(settings_.impossible);
    if (lingers) phases.front().length = hip_within + ms(random_.uniform(5, 200));
    std::uint32_t second_lifts = 0;
    if (kicks && random_.chance(settings_.second_lifts)) {
        // Out of the first pull-back down below the hip, and up once more.
        const auto pull_back = std::find_if(phases.begin(), phases.end(),
                                            [](const AttackPhase& each) { return each.phase == Phase::pull_back; });
        const AttackPhase below{Phase::lift, false, ms(random_.uniform(below_shortest_ms, below_longest_ms))};
        const AttackPhase again{Phase::up, false, pull_back->length};
        const AttackPhase back = *pull_back;
        phases.insert(pull_back + 1, {below, again, back});
        second_lifts = 1;
    }
    LegTruth truth{now, CameKind::nothing, {}, second_lifts, {}};
    const auto border = [&truth](Phase phase, HostTime at) { truth.borders.push_back({phase, at}); };
    HostTime at = now;
    bool above = false, off = false;
    std::int32_t downs = 0, hands = 0;
    Duration hip_longest{};
    HostTime crossed = now;
    for (const AttackPhase& phase : phases) {
        const bool up = phase.phase == Phase::up || phase.phase == Phase::pull_back;
        const bool foot_off = up || phase.phase == Phase::lift || phase.phase == Phase::drop;
        if (foot_off != off) {
            agenda_.add(at, Beam{GateRole::low, foot_off});
            off = foot_off;
        }
        if (up != above) {
            agenda_.add(at, Beam{GateRole::hip, up});
            if (!up) hip_longest = std::max(hip_longest, at - crossed);
            crossed = at;
            above = up;
            if (up) border(Phase::up_or_pull_back, at);
        }
        if (!up && phase.phase != Phase::guard) border(phase.phase, at);
        if (phase.phase == Phase::gap) ++downs;
        if (phase.phase == Phase::hands) {
            ++hands;
            beam(at, at + hand_in_beam, GateRole::hands);
        }
        agenda_.add(at, Show{lamps_of(phase.phase)});
        at += phase.length;
    }
    if (off) agenda_.add(at, Beam{GateRole::low, false});
    if (!kicks) border(Phase::guard, at);
    agenda_.add(at, Show{0});

    truth.hip_longest = hip_longest;
    truth.came = !kicks                                                      ? CameKind::feint
                 : lingers                                                   ? CameKind::impossible
                 : hands > 0                                                 ? CameKind::leg_to_hands
                 : downs > 1                                                 ? CameKind::reset
                 : second_lifts > 0                                          ? CameKind::second_lift
                 : go.kind == AttackKind::carry && hip_longest >= carry_from ? CameKind::carry
                                                                             : CameKind::single;
    truths_.push_back(std::move(truth));
    busy_until_ = at + between_attacks;
    if (settings_.room > 0) agenda_.add(at, StepForward{});
    ++plan_;
    plan_own(at);
    if (random_.chance(settings_.bounces)) agenda_.add(busy_until_ + ms(random_.uniform(0, 900)), Bounce{});
    if (!settings_.own_pace && random_.chance(settings_.unasked))
        agenda_.add(busy_until_ + ms(random_.uniform(900, 2500)), Go{AttackKind::single, 1});
}

}  // namespace breakstep
