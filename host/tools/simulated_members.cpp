#include "tools/simulated_members.hpp"

#include <optional>

#include "core/evening/dose.hpp"

namespace breakstep {

using namespace evening;

namespace {

constexpr Duration walk = 2s, change = 3500ms;

AthleteProfile profile_of(const std::string& call_sign, std::int32_t age) {
    if (const auto known = find_athlete(call_sign)) return *known;
    return typical_athlete(is_child(age) ? Level::beginner : Level::intermediate);
}

}  // namespace

SimulatedMembers::SimulatedMembers(SimulatedRig& rig, const EveningOwner& owner, std::uint64_t seed,
                                   std::function<std::string(AthleteId)> call_sign,
                                   std::function<Drill(const std::string&)> told)
    : rig_(rig), owner_(owner), random_(seed, 0x6d656d62), call_sign_(std::move(call_sign)), told_(std::move(told)) {}

void SimulatedMembers::walk_up(AthleteId athlete, HostTime) {
    standing_ = athlete;
    const Person* one = owner_.state().find(athlete);
    const AthleteProfile profile = profile_of(call_sign_(athlete), one == nullptr ? 0 : one->age);
    const Drill drill = one == nullptr ? Drill{} : told_(one->dose.drill);
    rig_.set_athlete(AthleteSettings::for_drill(profile, drill, random_.next()));
    into_the_box(drill);
}

// Whoever is in the box kicks as anybody might: the rig's truth about legs is demo --partner's matter.
void SimulatedMembers::into_the_box(const Drill& drill) {
    std::optional<PartnerSettings> partner;
    if (drill.partner.source == AttackSource::partner) partner = PartnerSettings::for_drill(drill, random_.next());
    rig_.post([partner](SimulatedTarget& target, HostTime at) { target.set_partner(at, partner); });
}

void SimulatedMembers::walk_off(HostTime) {
    standing_ = {};
    rig_.post([](SimulatedTarget& target, HostTime at) { target.no_athlete(at); });
}

void SimulatedMembers::saw(const EveningRecord& record, HostTime now) {
    if (const auto* turn = std::get_if<TurnCalled>(&record.event); turn != nullptr && turn->athlete != standing_) {
        walk_off(now);
        later(now + walk, [this, who = turn->athlete](HostTime at) { walk_up(who, at); });
    }
    const bool freed = std::holds_alternative<StoodAside>(record.event) ||
                       std::holds_alternative<SessionOver>(record.event) ||
                       std::holds_alternative<WentOn>(record.event);
    if (freed) later(now + change, [this](HostTime at) { next_strikes(at); });
}

void SimulatedMembers::next_strikes(HostTime now) {
    const State& state = owner_.state();
    if (state.rig != AtRig::nobody || state.summoned || state.over) return;
    const Block* block = state.current();
    if (block == nullptr || block->kind != BlockKind::rounds) return;
    const auto next = next_up(state, owner_.time(now));
    if (!next || state.paused || !state.rig_here) return later(now + change, [this](HostTime at) { next_strikes(at); });
    walk_up(*next, now);
    rig_.post([](SimulatedTarget& target, HostTime at) { target.rig().strike(at, PadRole::low_right, 0.4); });
    later(now + change, [this](HostTime at) { next_strikes(at); });
}

void SimulatedMembers::due(HostTime now) {
    while (!agenda_.empty() && agenda_.begin()->first <= now) {
        const Deed deed = std::move(agenda_.begin()->second);
        agenda_.erase(agenda_.begin());
        deed(now);
    }
}

}  // namespace breakstep
