#include "core/trade/junior.hpp"

#include <algorithm>
#include <chrono>

#include "core/trade/rules.hpp"

namespace breakstep {
namespace {

Duration single_length(const OpponentSettings& opponent) {
    return opponent.lift.mean + opponent.up.mean + opponent.pull_back.mean + opponent.drop.mean + opponent.gap.mean;
}

// Before the attack comes: of a lure the beats that a hunch needs, of a drawn one the acts until one draws it, about
// one in a second and a half; where no act comes the wait runs out.
Duration before_attack(const Drill& drill) {
    constexpr Duration beats_of_a_lure = 5500ms, act_every = 1500ms;
    const Duration wait = drill.wait_minimum + drill.wait_extra;
    if (drill.start == StartKind::lure) return beats_of_a_lure;
    if (drill.start != StartKind::drawn) return wait;
    const double drawn = std::max(0.1, 1 - drill.withheld);
    const auto acts = std::chrono::duration_cast<Duration>(act_every / drawn) + drill.drawn.mean;
    return std::min(wait, acts);
}

std::int32_t feints_of_a_hundred(const Drill& drill) {
    std::int32_t all = 0, feints = 0;
    for (const AttackChoice& each : drill.attacks) {
        all += each.share;
        if (each.kind == AttackKind::feint) feints += each.share;
    }
    return all == 0 ? 0 : 100 * feints / all;
}

std::string seconds(Duration length) {
    return std::to_string(std::chrono::round<std::chrono::seconds>(length).count()) + " s";
}

}  // namespace

Duration set_length(const Drill& drill) {
    if (drill.start == StartKind::free) return drill.partner.round;
    // A set that is called begins each wait so much later.
    const Duration calls = drill.asks.call_it_set > 0 ? call_within : Duration{};
    return drill.reps * (before_attack(drill) + single_length(drill.opponent) + calls);
}

std::string never_at_age(const Drill& drill, std::int32_t age_years) {
    constexpr std::int32_t spins_from = 14, youngest_until = 10, hunted_reps_max = 6, feints_max = 25;
    constexpr PadSet high = pad_bit(PadRole::high_left) | pad_bit(PadRole::high_right);
    if (age_years <= 0 || age_years >= spins_from) return "";
    std::string said;
    const auto add = [&said](const char* part) { said += (said.empty() ? "" : ", ") + std::string(part); };
    const auto any = [&drill](auto is) { return std::any_of(drill.attacks.begin(), drill.attacks.end(), is); };
    const auto high_alone = [](PadSet pads) { return pads != 0 && (pads & high) == pads; };
    if (any([](const AttackChoice& each) { return each.counter == Counter::spin; })) add("no spins under 14");
    const bool hunted = drill.start == StartKind::hunted;
    if (age_years > youngest_until) {
        if (hunted && drill.reps > hunted_reps_max) add("hunted for six reps at most");
        return said;
    }
    const bool high_pads =
        any([&](const AttackChoice& each) { return high_alone(each.pads) || high_alone(each.then_pads); });
    if (high_pads || high_alone(drill.manners.door_pads) || drill.asks.call_it_set > 0)
        add("no drill that needs high pads");
    if (hunted) add("never hunted");
    if (feints_of_a_hundred(drill) > feints_max) add("feints a quarter at most");
    return said;
}

std::int32_t youngest_age(const Drill& drill) {
    std::int32_t age = junior_under_years;
    while (age > 1 && never_at_age(drill, age - 1).empty()) --age;
    return age > 1 ? age : 0;
}

std::string too_much_for_a_junior(const Drill& drill, std::int32_t age_years) {
    if (age_years >= junior_under_years) return "";
    std::string said;
    const auto add = [&said](const std::string& part) { said += (said.empty() ? "" : ", ") + part; };
    if (drill.reps > junior_reps_max)
        add(std::to_string(drill.reps) + " reps a set where " + std::to_string(junior_reps_max) + " are enough");
    if (drill.sets > junior_sets_max)
        add(std::to_string(drill.sets) + " sets where " + std::to_string(junior_sets_max) + " are enough");
    const Duration work = set_length(drill), due = junior_rest_to_work * work;
    if (drill.sets > 1 && drill.rest < due)
        add(seconds(drill.rest) + " of rest after about " + seconds(work) + " of work where " + seconds(due) +
            " are due");
    return said;
}

}  // namespace breakstep
