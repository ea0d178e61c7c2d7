#include "core/trade/plan.hpp"

#include <algorithm>

#include "core/trade/rules.hpp"

namespace breakstep {
namespace {

constexpr std::uint32_t test_orders = 8;

struct Slot {
    std::int32_t attack = 0;
    Side lead = Side::right;
};

std::vector<Slot> one_round(const Drill& drill, std::int32_t asked) {
    std::vector<Slot> round;
    for (std::size_t i = 0; i < drill.attacks.size(); ++i)
        for (std::int32_t k = 0; k < drill.attacks[i].share; ++k) {
            const auto attack = static_cast<std::int32_t>(i);
            if (asked >= 0 && attack != asked) continue;
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

// How often each attack comes in the long run of an order; by shares where an order never settles.
std::vector<double> long_run(const Drill& drill) {
    constexpr int steps = 200;
    const std::size_t n = drill.attacks.size();
    std::vector<double> chances(n);
    double all = 0;
    for (const AttackChoice& attack : drill.attacks) all += attack.share;
    for (std::size_t i = 0; i < n; ++i) chances[i] = drill.attacks[i].share / all;
    std::vector<double> mean(n, 0);
    for (int step = 0; step < steps; ++step) {
        std::vector<double> next(n, 0);
        for (std::size_t from = 0; from < n; ++from)
            for (std::size_t to = 0; to < n; ++to) next[to] += chances[from] * drill.order[from * n + to];
        chances = next;
        // The mean of the second half: an order that goes round and round has no limit, but a share of the time.
        if (2 * step >= steps)
            for (std::size_t i = 0; i < n; ++i) mean[i] += chances[i] * 2 / steps;
    }
    return mean;
}

std::int32_t drawn_from(const double* chances, std::size_t n, Random& random) {
    double draw = random.unit();
    for (std::size_t i = 0; i < n; ++i) {
        draw -= chances[i];
        if (draw < 0) return static_cast<std::int32_t>(i);
    }
    // What was rounded off belongs to the likeliest.
    return static_cast<std::int32_t>(std::max_element(chances, chances + n) - chances);
}

std::vector<Slot> learned_order(const Drill& drill, std::size_t reps, Random& random) {
    const std::size_t n = drill.attacks.size();
    std::vector<Slot> order;
    std::int32_t last = -1;
    while (order.size() < reps) {
        if (last < 0) {
            const std::vector<double> first = long_run(drill);
            last = drawn_from(first.data(), n, random);
        } else {
            last = drawn_from(drill.order.data() + static_cast<std::size_t>(last) * n, n, random);
        }
        const bool left =
            drill.lead_sides == LeadSides::left || (drill.lead_sides == LeadSides::both && random.chance(0.5));
        order.push_back({last, left ? Side::left : Side::right});
    }
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

/// Draws the leans of a set. A generator of its own: a drill without them is drawn as it ever was.
class Leans {
  public:
    Leans(const Drill& drill, std::uint64_t seed, std::uint64_t stream)
        : telegraph_(drill.telegraph), random_(seed, stream), lies_(lies_in_nothing(drill)) {}

    /// How long before toe-off the next attack leans; 0: not.
    Duration next() {
        if (telegraph_.shown <= 0 || !random_.chance(telegraph_.shown)) return {};
        return delay();
    }
    /// Whether a lean that ends in nothing comes before the next attack.
    bool lies() { return lies_ > 0 && random_.chance(lies_); }
    Duration delay() { return draw_length(telegraph_.delay, telegraph_.spread, random_); }

  private:
    // The drill's feints lean as its kicks do and are lies then; what is missing to the share asked for ends in
    // nothing: with f the share of feints, (f shown + p) / (shown + p) = lies.
    static double lies_in_nothing(const Drill& drill) {
        double feints = 0, all = 0;
        for (const AttackChoice& attack : drill.attacks) {
            all += attack.share;
            feints += attack.kind == AttackKind::feint ? attack.share : 0;
        }
        const Telegraph& telegraph = drill.telegraph;
        if (telegraph.shown <= 0 || all <= 0) return 0;
        return std::max(0.0, telegraph.shown * (telegraph.lies - feints / all) / (1 - telegraph.lies));
    }

    const Telegraph& telegraph_;
    Random random_;
    double lies_;
};

}  // namespace

Duration PlannedAttack::length() const {
    Duration sum{};
    for (const AttackPhase& phase : phases) sum += phase.length;
    return sum;
}

Duration draw_wait(Duration minimum, Duration extra, Random& random) {
    return minimum + Duration(static_cast<std::int64_t>(random.exponential(static_cast<double>(extra.count()))));
}

std::int32_t asked_in_set(const Drill& drill, std::uint64_t seed, std::int32_t set) {
    if (!drill.asks.first_or_after || drill.attacks.size() < 2) return -1;
    constexpr std::uint64_t coin_stream = std::uint64_t{1} << 42U;
    Random coin(seed, coin_stream + static_cast<std::uint64_t>(set / 2));
    return (coin.chance(0.5) ? 1 : 0) == set % 2 ? 1 : 0;
}

std::vector<PlannedAttack> plan_set(const Drill& drill, std::uint64_t seed, std::int32_t set, std::int32_t reps,
                                    double pace, std::int32_t attempt) {
    constexpr std::uint64_t attempts_a_set = 4096, lean_stream = std::uint64_t{1} << 40U;
    constexpr std::uint64_t secret_stream = std::uint64_t{1} << 41U;
    Random random(seed, attempts_a_set * static_cast<std::uint64_t>(set) + static_cast<std::uint64_t>(attempt));
    const auto wanted = static_cast<std::size_t>(reps);
    const std::vector<Slot> round = one_round(drill, asked_in_set(drill, seed, set));
    const bool by_pattern = drill.start == StartKind::pattern;
    const bool in_order = !drill.order.empty() && !drill.asks.first_or_after;
    const std::vector<Slot> order = by_pattern   ? pattern_order(drill, wanted)
                                    : drill.test ? test_order(round, wanted, set, random)
                                    : in_order   ? learned_order(drill, wanted, random)
                                                 : training_order(round, wanted, drill.opponent.untidy, random);
    const OpponentSettings opponent = paced(drill.opponent, drill.test ? 1.0 : pace, drill.test);
    const OpponentSettings own = paced(drill.opponent, 1.0, drill.test);
    const bool follows = drill.following.follows && !drill.test && set > 0;
    Random secret(
        seed, secret_stream + attempts_a_set * static_cast<std::uint64_t>(set) + static_cast<std::uint64_t>(attempt));

    Leans leans(drill, seed,
                lean_stream + attempts_a_set * static_cast<std::uint64_t>(set) + static_cast<std::uint64_t>(attempt));
    std::vector<PlannedAttack> plan;
    // A wait beyond the cap is a catch trial, and the attack that was due waits anew.
    const auto draw_wait_of = [&](PlannedAttack& planned) {
        planned.wait = draw_wait(drill.wait_minimum, drill.wait_extra, random);
        while (planned.wait > drill.wait_cap) {
            PlannedAttack nothing = planned;
            nothing.catch_trial = true;
            nothing.wait = drill.wait_cap;
            plan.push_back(nothing);
            planned.wait = draw_wait(drill.wait_minimum, drill.wait_extra, random);
        }
    };
    for (std::size_t i = 0; i < order.size(); ++i) {
        const AttackChoice& choice = drill.attacks[static_cast<std::size_t>(order[i].attack)];
        PlannedAttack planned;
        planned.attack = order[i].attack;
        planned.lead = order[i].lead;
        if (by_pattern) {
            planned.wait = drill.pattern[i % drill.pattern.size()].wait;
        } else {
            draw_wait_of(planned);
            if (leans.lies()) {
                PlannedAttack lie = planned;
                lie.catch_trial = true;
                lie.telegraph = leans.delay();
                lie.lie_after = lie.wait;
                lie.wait += after_lie;
                plan.push_back(lie);
                draw_wait_of(planned);
            }
            planned.telegraph = leans.next();
        }
        planned.counts = drill.test || set == 0 || (follows && secret.chance(secret_share));
        planned.phases = draw_attack(planned.counts ? own : opponent, choice.kind, choice.rebounds, random);
        plan.push_back(std::move(planned));
    }
    return plan;
}

}  // namespace breakstep
