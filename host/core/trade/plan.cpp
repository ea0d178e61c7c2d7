#include "core/trade/plan.hpp"

#include "core/trade/rules.hpp"

namespace breakstep {
namespace {

constexpr std::uint32_t test_orders = 8;

struct Slot {
    std::int32_t attack = 0;
    Side lead = Side::right;
};

std::vector<Slot> one_round(const Drill& drill) {
    std::vector<Slot> round;
    for (std::size_t i = 0; i < drill.attacks.size(); ++i)
        for (std::int32_t k = 0; k < drill.attacks[i].share; ++k) {
            const auto attack = static_cast<std::int32_t>(i);
            if (drill.lead_sides != LeadSides::right) round.push_back({attack, Side::left});
            if (drill.lead_sides != LeadSides::left) round.push_back({attack, Side::right});
        }
    return round;
}

std::vector<Slot> test_order(const std::vector<Slot>& round, std::size_t reps, std::int32_t set, Random& random) {
    std::vector<Slot> order;
    while (order.size() < reps) order.push_back(round[order.size() % round.size()]);
    // The order's own seed has nothing to do with the session's: every athlete meets the same eight orders.
    Random fixed(0x7e57, random.below(test_orders) + test_orders * static_cast<std::uint64_t>(set));
    fixed.shuffle(order);
    return order;
}

std::vector<Slot> training_order(const std::vector<Slot>& round, std::size_t reps, bool untidy, Random& random) {
    std::vector<Slot> order;
    while (order.size() < reps) {
        if (untidy) {
            order.push_back(round[random.below(static_cast<std::uint32_t>(round.size()))]);
            continue;
        }
        std::vector<Slot> block = round;
        if (random.chance(0.5)) block.insert(block.end(), round.begin(), round.end());
        random.shuffle(block);
        order.insert(order.end(), block.begin(), block.end());
    }
    order.resize(reps);
    return order;
}

std::vector<Slot> pattern_order(const Drill& drill, std::size_t reps) {
    const Side lead = drill.lead_sides == LeadSides::left ? Side::left : Side::right;
    std::vector<Slot> order;
    while (order.size() < reps) order.push_back({drill.pattern[order.size() % drill.pattern.size()].attack, lead});
    return order;
}

OpponentSettings paced(OpponentSettings opponent, double pace, bool test) {
    const auto scale = [pace](LengthRange& range) {
        const auto scaled = [pace](Duration d) {
            return Duration(static_cast<std::int64_t>(static_cast<double>(d.count()) * pace));
        };
        range = {scaled(range.mean), scaled(range.shortest), scaled(range.longest)};
    };
    for (LengthRange* range : {&opponent.lift, &opponent.up, &opponent.pull_back, &opponent.drop, &opponent.gap,
                               &opponent.carry, &opponent.hands, &opponent.feint})
        scale(*range);
    if (opponent.untidy) opponent.spread = untidy_spread;
    if (test) opponent.spread = 0;
    return opponent;
}

}  // namespace

Duration PlannedAttack::length() const {
    Duration sum{};
    for (const AttackPhase& phase : phases) sum += phase.length;
    return sum;
}

Duration draw_wait(Duration minimum, Duration extra, Random& random) {
    return minimum + Duration(static_cast<std::int64_t>(random.exponential(static_cast<double>(extra.count()))));
}

std::vector<PlannedAttack> plan_set(const Drill& drill, std::uint64_t seed, std::int32_t set, std::int32_t reps,
                                    double pace, std::int32_t attempt) {
    constexpr std::uint64_t attempts_a_set = 4096;
    Random random(seed, attempts_a_set * static_cast<std::uint64_t>(set) + static_cast<std::uint64_t>(attempt));
    const auto wanted = static_cast<std::size_t>(reps);
    const std::vector<Slot> round = one_round(drill);
    const bool by_pattern = drill.start == StartKind::pattern;
    const std::vector<Slot> order = by_pattern   ? pattern_order(drill, wanted)
                                    : drill.test ? test_order(round, wanted, set, random)
                                                 : training_order(round, wanted, drill.opponent.untidy, random);
    const OpponentSettings opponent = paced(drill.opponent, drill.test ? 1.0 : pace, drill.test);

    std::vector<PlannedAttack> plan;
    for (std::size_t i = 0; i < order.size(); ++i) {
        const AttackChoice& choice = drill.attacks[static_cast<std::size_t>(order[i].attack)];
        PlannedAttack planned;
        planned.attack = order[i].attack;
        planned.lead = order[i].lead;
        if (by_pattern) {
            planned.wait = drill.pattern[i % drill.pattern.size()].wait;
        } else {
            planned.wait = draw_wait(drill.wait_minimum, drill.wait_extra, random);
            while (planned.wait > drill.wait_cap) {
                PlannedAttack nothing = planned;
                nothing.catch_trial = true;
                nothing.wait = drill.wait_cap;
                plan.push_back(nothing);
                planned.wait = draw_wait(drill.wait_minimum, drill.wait_extra, random);
            }
        }
        planned.phases = draw_attack(opponent, choice.kind, choice.rebounds, random);
        plan.push_back(std::move(planned));
    }
    return plan;
}

}  // namespace breakstep
