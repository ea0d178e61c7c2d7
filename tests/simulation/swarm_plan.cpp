#include "simulation/swarm_plan.hpp"

#include <algorithm>

#include "core/random.hpp"
#include "devices/simulated/athlete_profile.hpp"

namespace breakstep::swarm {
namespace {

Duration between(Random& random, Duration low, Duration high) {
    return Duration(
        static_cast<std::int64_t>(random.uniform(static_cast<double>(low.count()), static_cast<double>(high.count()))));
}

template <class Enum>
Enum any_of(Random& random, Enum last) {
    return static_cast<Enum>(random.below(static_cast<std::uint32_t>(last) + 1));
}

AttackChoice draw_attack_choice(Random& random) {
    AttackChoice attack;
    attack.kind = any_of(random, AttackKind::feint);
    attack.rebounds = 1 + static_cast<std::int32_t>(random.below(3));
    attack.share = 1 + static_cast<std::int32_t>(random.below(3));
    attack.moment = any_of(random, Moment::drop);
    attack.counter = any_of(random, Counter::spin);
    attack.pads = static_cast<PadSet>(random.below(16));
    return attack;
}

// Within what a drill file allows, and small.
Drill draw_drill(Random& random) {
    Drill drill;
    drill.name = drill.title = "swarm";
    drill.start = any_of(random, StartKind::tapped);
    drill.test = drill.start == StartKind::random && random.chance(0.3);
    drill.stance = any_of(random, Stance::open);
    drill.lead_sides = any_of(random, LeadSides::both);
    const std::uint32_t kinds = 1 + random.below(3);
    for (std::uint32_t i = 0; i < kinds; ++i) drill.attacks.push_back(draw_attack_choice(random));
    if (drill.start == StartKind::pattern)
        for (std::uint32_t i = 0; i < 1 + random.below(3); ++i)
            drill.pattern.push_back({static_cast<std::int32_t>(random.below(kinds)), between(random, 1s, 3s)});
    drill.sets = 1 + static_cast<std::int32_t>(random.below(2));
    drill.reps = 1 + static_cast<std::int32_t>(random.below(6));
    drill.rest = between(random, 1s, 4s);
    drill.wait_minimum = between(random, 1s, 1500ms);
    drill.wait_cap = drill.wait_minimum + between(random, 500ms, 4s);
    drill.wait_extra = Duration((drill.wait_cap - drill.wait_minimum).count() * random.below(10) / 10);
    drill.lead = between(random, 0ms, 300ms);
    drill.withheld = random.uniform(0, 0.9);
    drill.level = any_of(random, Level::advanced);
    drill.opponent = opponent_defaults(drill.level);
    drill.opponent.untidy = random.chance(0.2);
    drill.lamps = !random.chance(0.1);
    drill.sound = !drill.lamps || random.chance(0.6);
    drill.screen = random.chance(0.5);
    return drill;
}

void draw_line(Random& random, Plan& plan) {
    plan.target = simulated_target_settings(plan.seed);
    LinkModelSettings& line = plan.target.link;
    line.adapter = random.chance(0.7) ? AdapterKind::usb_cdc : any_of(random, AdapterKind::latency_timer_16);
    const double worst = random.chance(0.5) ? 0.03 : 0.1;
    if (random.chance(0.7)) line.damage_to_host = random.uniform(0, worst);
    if (random.chance(0.7)) line.damage_to_rig = random.uniform(0, worst);
    line.stall = random.uniform(0, 0.02);
    if (random.chance(0.15)) plan.target.rig.lamps = {LampRole::foot, LampRole::hip, LampRole::head};
    if (random.chance(0.1)) plan.target.rig.gates = {GateRole::near_mark};
    plan.target.rig.ring = random.chance(0.2) ? 32 : 64;
    const Duration last = plan.met_before + plan.trouble;
    for (std::uint32_t i = random.below(3); i > 0; --i)
        plan.target.faults.push_back({between(random, 0s, last), FaultKind::board_reset});
    // The cable goes out and in again, sometimes for longer than anybody would wait.
    for (std::uint32_t i = random.below(3); i > 0; --i) {
        const Duration out = between(random, 0s, last);
        const Duration gone = random.chance(0.05) ? between(random, 55s, 70s) : between(random, 0s, 6s);
        plan.target.faults.push_back({out, random.chance(0.5) ? FaultKind::unplug : FaultKind::unplug_power});
        plan.target.faults.push_back({std::min(out + gone, last), FaultKind::plug_in});
    }
    plan.target.faults.push_back({last, FaultKind::plug_in});
}

Deed draw_deed(Random& random, const Plan& plan) {
    const double kind = random.unit();
    const auto coach = [](CoachAct act, std::int32_t choice = 0) { return CoachDeed{{act, choice}}; };
    if (kind < 0.25) return coach(CoachAct::tap_attack, static_cast<std::int32_t>(random.below(5)) - 1);
    if (kind < 0.32) return coach(CoachAct::pause);
    if (kind < 0.42) return coach(CoachAct::go_on);
    if (kind < 0.52) return VoidDeed{static_cast<RepId>(random.below(8))};
    if (kind < 0.75) return StrikeDeed{any_of(random, PadRole::low_right), random.uniform(0.05, 1)};
    if (kind < 0.90 || plan.target.rig.gates.size() < 2) return PassDeed{any_of(random, GateRole::hip)};
    if (kind < 0.93) return LampDeed{{true, {}}};
    if (kind < 0.96) return LampDeed{{false, between(random, 5ms, 200ms)}};
    return LampDeed{};
}

void draw_deeds(Random& random, Plan& plan) {
    const auto add = [&plan](Duration after, Deed deed) { plan.deeds.push_back({after, std::move(deed)}); };
    for (std::uint32_t i = random.below(40); i > 0; --i)
        add(between(random, 0s, plan.trouble), draw_deed(random, plan));
    for (std::uint32_t i = random.below(3); i > 0; --i) {
        const Duration fails = between(random, -1s, plan.trouble);
        add(std::max(fails, Duration{}), DiskDeed{true});
        add(std::min(std::max(fails, Duration{}) + between(random, 0s, 8s), plan.trouble), DiskDeed{false});
    }
    if (random.chance(0.1)) add(between(random, 0s, plan.trouble), CoachDeed{{CoachAct::stop, 0}});
    std::stable_sort(plan.deeds.begin(), plan.deeds.end(),
                     [](const TimedDeed& a, const TimedDeed& b) { return a.after < b.after; });
}

}  // namespace

Plan draw_plan(std::uint64_t seed) {
    Random random(seed, 0x737761726d);
    Plan plan;
    plan.seed = seed;
    plan.drill = draw_drill(random);
    plan.sound = random.chance(0.3);
    plan.met_before = random.chance(0.5) ? between(random, 0s, 4s) : Duration{};
    plan.trouble = between(random, 5s, 45s);
    plan.commit_after = random.chance(0.3) ? Duration{} : between(random, 0ms, 60ms);
    const auto& club = demo_club();
    if (!random.chance(0.15)) plan.athlete = club[random.below(static_cast<std::uint32_t>(club.size()))].call_sign;
    draw_line(random, plan);
    draw_deeds(random, plan);
    if (random.chance(0.4)) plan.killed_at = 1 + static_cast<std::int32_t>(random.below(6000));
    return plan;
}

}  // namespace breakstep::swarm
