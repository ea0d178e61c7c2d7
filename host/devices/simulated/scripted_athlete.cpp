#include "devices/simulated/scripted_athlete.hpp"

#include <utility>

namespace breakstep {
namespace {

constexpr LampSet ready = lamp_bit(LampRole::ready);
constexpr Duration between_attacks = 900ms;

}  // namespace

ScriptedAthlete::ScriptedAthlete(Script script, HostTime now) : script_(std::move(script)), dark_since_(now) {
    for (const AtTime& timed : script_.at_times) agenda_.add(timed.at, timed.deed);
}

void ScriptedAthlete::lamps(HostTime at, LampSet lit) {
    due(at);
    if (lit == lit_) return;
    const LampSet before = std::exchange(lit_, lit);
    if (lit == ready && script_.starts_sets) agenda_.add(at + 1s, StartStrike{});
    if ((lit & ready) != 0) return;
    const bool count_ends = (before & ready) != 0;
    const bool begins = before == 0 && (at - dark_since_ >= between_attacks || attack_ < 0 || after_count_);
    if (lit == 0) dark_since_ = at;
    if (count_ends) {
        after_count_ = true;
        return;
    }
    if (begins) {
        ++attack_;
        change_ = 0;
        after_count_ = false;
    } else {
        ++change_;
    }
    for (const AfterLamp& step : script_.after_lamps)
        if (step.attack == attack_ && step.change == change_) agenda_.add(at + step.delay, step.deed);
}

void ScriptedAthlete::due(HostTime now) {
    while (auto next = agenda_.take(now))
        std::visit([&](const auto& action) { happen(next->first, action); }, next->second);
}

void ScriptedAthlete::happen(HostTime now, const StartStrike&) {
    if (lit_ != ready) return;
    acts_.push_back(StrikeAct{now, PadRole::high_left, 0.6});
    agenda_.add(now + 4s, StartStrike{});
}

void ScriptedAthlete::happen(HostTime now, const ScriptDeed& deed) {
    if (const auto* strike = std::get_if<ScriptStrike>(&deed)) {
        acts_.push_back(StrikeAct{now, strike->pad, strike->strength});
    } else if (const auto* pass = std::get_if<ScriptPass>(&deed)) {
        for (const HostTime leg : {now, now + pass->between_legs}) {
            acts_.push_back(BeamAct{leg, pass->gate, true});
            acts_.push_back(BeamAct{leg + pass->beam, pass->gate, false});
        }
    } else if (const auto* beam = std::get_if<ScriptBeam>(&deed)) {
        acts_.push_back(BeamAct{now, beam->gate, beam->blocked});
    }
}

void ScriptedAthlete::take_acts(std::vector<AthleteAct>& out) {
    out.insert(out.end(), acts_.begin(), acts_.end());
    acts_.clear();
}

}  // namespace breakstep
