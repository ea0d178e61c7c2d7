#include "devices/simulated/simulated_target.hpp"

#include <algorithm>
#include <utility>

namespace breakstep {
namespace {

std::optional<HostTime> earlier(std::optional<HostTime> a, std::optional<HostTime> b) {
    if (!a || (b && *b < *a)) return b;
    return a;
}

}  // namespace

SimulatedTargetSettings simulated_target_settings(std::uint64_t seed) {
    Random random(seed, 41);
    SimulatedTargetSettings settings;
    settings.rig.seed = seed;
    settings.rig.clock.drift_ppm = random.uniform(-150, 150);
    settings.rig.clock.wander_phase = random.uniform(0, 6.28);
    settings.link.seed = seed;
    return settings;
}

SimulatedTargetSettings for_a_partner(SimulatedTargetSettings settings) {
    settings.rig.lamps.push_back(LampRole::partner);
    settings.rig.gates.push_back(GateRole::hands);
    settings.rig.gates.push_back(GateRole::partner_back_mark);
    return settings;
}

SimulatedTarget::SimulatedTarget(const SimulatedTargetSettings& settings, HostTime begin)
    : rig_(settings.rig, begin), link_(settings.link) {
    for (const Fault& fault : settings.faults) faults_.add(begin + fault.after, fault.kind);
}

template <class Use>
void SimulatedTarget::with_athlete(Use use) {
    if (auto* model = std::get_if<AthleteModel>(&athlete_)) use(*model);
    if (auto* scripted = std::get_if<ScriptedAthlete>(&athlete_)) use(*scripted);
}

// ---- who stands there -----------------------------------------------------------------------------------------------

void SimulatedTarget::no_athlete(HostTime now) {
    due(now);
    with_athlete([&](auto& athlete) { athlete.leave(now); });
    pass_on(now);
    athlete_ = std::monostate{};
}

void SimulatedTarget::set_athlete(HostTime now, const AthleteSettings& settings) {
    no_athlete(now);
    athlete_.emplace<AthleteModel>(settings, now).lamps(now, seen_);
}

void SimulatedTarget::set_script(HostTime now, const Script& script) {
    no_athlete(now);
    athlete_.emplace<ScriptedAthlete>(script, now).lamps(now, seen_);
}

void SimulatedTarget::set_partner(HostTime now, const std::optional<PartnerSettings>& settings) {
    due(now);
    if (partner_) {
        partner_->leave(now);
        pass_on(now);
    }
    partner_.reset();
    if (settings) partner_.emplace(*settings, now);
    show_athlete(now);
}

void SimulatedTarget::tell_partner(HostTime now, const AttackChoice& what) {
    due(now);
    if (partner_) partner_->told(now, what);
}

void SimulatedTarget::show_athlete(HostTime at) {
    const LampSet now = static_cast<LampSet>((lit_ & all_lamps) | (partner_ ? partner_->looks() : 0));
    if (std::exchange(seen_, now) == now) return;
    with_athlete([&](auto& athlete) { athlete.lamps(at, now); });
}

// The partner sees the athlete give ground, or step in: a leg passes the far mark outward, or the near mark inward.
void SimulatedTarget::show_partner(HostTime now) {
    const auto* model = std::get_if<AthleteModel>(&athlete_);
    const Place there = model != nullptr ? model->place() : Place::beyond;
    const bool was_nearer = athlete_at_ == Place::home || athlete_at_ == Place::in_reach;
    const bool gives_ground = was_nearer && (there == Place::beyond || there == Place::behind);
    const bool passes_near = (athlete_at_ == Place::in_reach) != (there == Place::in_reach);
    athlete_at_ = there;
    const auto broke = [&](GateRole gate) -> std::optional<HostTime> {
        for (const AthleteAct& act : acts_) {
            const auto* beam = std::get_if<BeamAct>(&act);
            if (beam != nullptr && beam->gate == gate && beam->blocked) return std::max(now, beam->at);
        }
        return std::nullopt;
    };
    if (gives_ground)
        if (const auto at = broke(GateRole::far_mark)) partner_->retreat_seen(*at);
    if (passes_near)
        if (const auto at = broke(GateRole::near_mark)) partner_->athlete_near(*at, there == Place::in_reach);
    acts_of_partner_.clear();
    partner_->take_acts(acts_of_partner_);
    acts_.insert(acts_.end(), acts_of_partner_.begin(), acts_of_partner_.end());
    for (const AthleteAct& act : acts_of_partner_)
        if (const auto* beam = std::get_if<BeamAct>(&act);
            beam != nullptr && beam->gate == GateRole::partner_back_mark && beam->blocked)
            if (auto* athlete = std::get_if<AthleteModel>(&athlete_)) athlete->partner_at_edge(now);
}

// ---- time and bytes -------------------------------------------------------------------------------------------------

void SimulatedTarget::screen_leans(HostTime now, std::vector<HostTime> at) {
    due(now);
    leans_ = std::move(at);
    std::erase_if(leans_, [this](HostTime each) { return each <= seen_until_; });
    std::sort(leans_.begin(), leans_.end());
}

void SimulatedTarget::screen_follows(HostTime now, bool follows) {
    due(now);
    if (follows && !follows_)
        if (auto* model = std::get_if<AthleteModel>(&athlete_)) model->followed(now);
    follows_ = follows;
}

void SimulatedTarget::host_bytes(HostTime now, std::span<const std::uint8_t> bytes) {
    due(now);
    link_.from_host(now, bytes);
}

std::optional<HostTime> SimulatedTarget::next_inside() const {
    std::optional<HostTime> next = earlier(faults_.next(), earlier(rig_.next_due(), link_.next_to_rig()));
    if (const auto* model = std::get_if<AthleteModel>(&athlete_)) next = earlier(next, model->next_due());
    if (const auto* scripted = std::get_if<ScriptedAthlete>(&athlete_)) next = earlier(next, scripted->next_due());
    if (!leans_.empty()) next = earlier(next, leans_.front());
    if (partner_) next = earlier(next, partner_->next_due());
    return next;
}

std::optional<HostTime> SimulatedTarget::next_due() const { return earlier(next_inside(), link_.next_to_host()); }

void SimulatedTarget::due(HostTime now) {
    for (auto next = next_inside(); next && *next <= now; next = next_inside()) step(*next);
}

void SimulatedTarget::step(HostTime at) {
    while (const auto fault = faults_.take(at)) happen(at, fault->second);
    while (const auto arrival = link_.to_rig(at)) rig_.bytes(arrival->at, arrival->bytes);
    rig_.due(at);
    while (!leans_.empty() && leans_.front() <= at) {
        seen_until_ = leans_.front();
        if (auto* model = std::get_if<AthleteModel>(&athlete_)) model->lean(at);
        leans_.erase(leans_.begin());
    }
    with_athlete([at](auto& athlete) { athlete.due(at); });
    if (partner_) partner_->due(at);
    pass_on(at);
}

void SimulatedTarget::pass_on(HostTime now) {
    bytes_.clear();
    rig_.drain(bytes_);
    if (!bytes_.empty()) link_.from_rig(now, bytes_);
    lamps_.clear();
    rig_.take_lamp_changes(lamps_);
    for (const LampChange& change : lamps_) {
        const LampSet before = std::exchange(lit_, change.lit);
        if (partner_) {
            const LampSet partner_lamp = lamp_bit(LampRole::partner), ready = lamp_bit(LampRole::ready);
            if ((lit_ & ~before & partner_lamp) != 0) partner_->cued(change.at);
            // From the end of a count to the next ready lamp a set runs.
            if ((before & ready) != 0 && (lit_ & ready) == 0) partner_->set_runs(change.at, true);
            if ((lit_ & ready) != 0) partner_->set_runs(change.at, false);
        }
        show_athlete(change.at);
    }
    show_athlete(now);
    acts_.clear();
    with_athlete([this](auto& athlete) { athlete.take_acts(acts_); });
    if (partner_) show_partner(now);
    for (const AthleteAct& act : acts_) {
        if (const auto* strike = std::get_if<StrikeAct>(&act))
            rig_.strike(std::max(now, strike->at), strike->pad, strike->strength);
        if (const auto* beam = std::get_if<BeamAct>(&act))
            rig_.block_gate(std::max(now, beam->at), beam->gate, beam->blocked);
    }
}

void SimulatedTarget::drain(HostTime now, std::vector<std::uint8_t>& out) {
    due(now);
    while (const auto arrival = link_.to_host(now)) out.insert(out.end(), arrival->bytes.begin(), arrival->bytes.end());
}

// ---- faults ---------------------------------------------------------------------------------------------------------

void SimulatedTarget::happen(HostTime now, FaultKind fault) {
    switch (fault) {
        case FaultKind::board_reset:
            rig_.reset(now);
            return;
        case FaultKind::unplug_power:
            rig_.power(now, false);
            link_.plug(false);
            return;
        case FaultKind::unplug:
            link_.plug(false);
            return;
        case FaultKind::plug_in:
            link_.plug(true);
            if (!rig_.powered()) rig_.power(now, true);
            return;
    }
}

void SimulatedTarget::reset_board(HostTime now) {
    due(now);
    happen(now, FaultKind::board_reset);
}

void SimulatedTarget::plug(HostTime now, bool in) {
    due(now);
    happen(now, in ? FaultKind::plug_in : FaultKind::unplug);
}

}  // namespace breakstep
