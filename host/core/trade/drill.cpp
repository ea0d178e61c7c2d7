#include "core/trade/drill.hpp"

#include <algorithm>

#include "core/trade/lead.hpp"

namespace breakstep {
namespace {

bool in_range(const LengthRange& length) {
    return length.shortest > Duration{} && length.shortest <= length.mean && length.mean <= length.longest &&
           length.longest <= 60s;
}

bool in_range(const OpponentSettings& opponent) {
    for (const LengthRange* length : {&opponent.lift, &opponent.up, &opponent.pull_back, &opponent.drop, &opponent.gap,
                                      &opponent.carry, &opponent.hands, &opponent.feint})
        if (!in_range(*length)) return false;
    return opponent.spread >= 0 && opponent.spread <= 1;
}

bool in_range(const Telegraph& telegraph) {
    return in_range(telegraph.delay) && telegraph.delay.longest <= 2s && telegraph.spread >= 0 &&
           telegraph.spread <= 1 && telegraph.shown >= 0 && telegraph.shown <= 1 && telegraph.lies >= 0 &&
           telegraph.lies <= 0.5;
}

bool within(Duration value, Duration low, Duration high) { return value >= low && value <= high; }
bool in_range(const Manner& manner) { return manner.share >= 0 && manner.share <= 1 && within(manner.delay, 0s, 5s); }
bool in_range(const Manners& manners) {
    return in_range(manners.stepped_at) && in_range(manners.retreated_from) && in_range(manners.struck) &&
           in_range(manners.door) && manners.spread >= 0 && manners.spread <= 1 && manners.door_pads <= 15;
}
// Each row 1 in all, whatever was rounded off.
bool is_an_order(const Drill& drill) {
    const std::size_t n = drill.attacks.size();
    if (drill.order.empty()) return true;
    if (drill.order.size() != n * n) return false;
    for (std::size_t row = 0; row < n; ++row) {
        double sum = 0;
        for (std::size_t i = 0; i < n; ++i) {
            const double chance = drill.order[row * n + i];
            if (!(chance >= 0 && chance <= 1)) return false;
            sum += chance;
        }
        if (sum < 0.999 || sum > 1.001) return false;
    }
    return true;
}
bool in_range(const Asks& asks) {
    return within(asks.out_within, 0s, 5s) && within(asks.edge_within, 0s, 10s) && asks.call_it_set >= 0;
}

}  // namespace

void Manners::draw_by(DrewBy act) {
    const auto bit = static_cast<unsigned>(act);
    if (bit < 8)
        draws = static_cast<std::uint8_t>(draws | (1U << bit));
    else
        draws_too = static_cast<std::uint8_t>(draws_too | (1U << (bit - 8)));
}

bool Manners::names(DrewBy act) const {
    const auto bit = static_cast<unsigned>(act);
    return bit < 8 ? (draws >> bit & 1U) != 0 : (draws_too >> (bit - 8) & 1U) != 0;
}

bool in_range(const Drill& drill) {
    constexpr std::size_t most_attacks = 64, most_steps = 1000;
    const auto attack_in_range = [](const AttackChoice& attack) {
        return attack.rebounds >= 1 && attack.rebounds <= 4 && attack.share >= 1 && attack.share <= 20 &&
               attack.moments <= 7 && (attack.moments == 0 || attack.asks(attack.moment)) && attack.then_pads <= 15 &&
               within(attack.then_within, 0s, 5s);
    };
    const auto step_in_range = [&](const PatternStep& step) {
        return step.attack >= 0 && static_cast<std::size_t>(step.attack) < drill.attacks.size() &&
               within(step.wait, 0s, 60s);
    };
    return !drill.attacks.empty() && drill.attacks.size() <= most_attacks && drill.pattern.size() <= most_steps &&
           std::all_of(drill.attacks.begin(), drill.attacks.end(), attack_in_range) &&
           std::all_of(drill.pattern.begin(), drill.pattern.end(), step_in_range) &&
           (drill.start != StartKind::pattern || !drill.pattern.empty()) && drill.sets >= 1 && drill.sets <= 20 &&
           drill.reps >= 1 && drill.reps <= 60 && within(drill.rest, 0s, 600s) && within(drill.wait_minimum, 0s, 60s) &&
           within(drill.wait_extra, 0s, 60s) && within(drill.wait_cap, drill.wait_minimum, 60s) &&
           drill.wait_extra <= 2 * (drill.wait_cap - drill.wait_minimum) && within(drill.lead, 0s, lead_longest) &&
           drill.withheld >= 0 && drill.withheld <= 1 && in_range(drill.opponent) && in_range(drill.telegraph) &&
           within(drill.drawn.mean, 0s, 5s) && drill.drawn.spread >= 0 && drill.drawn.spread <= 1 &&
           within(drill.partner.round, 1s, 600s) && drill.following.share >= 0.5 && drill.following.share <= 0.95 &&
           in_range(drill.asks) && in_range(drill.manners) && is_an_order(drill);
}

Drill as_met_by(Drill drill, Side athlete_lead) {
    if (athlete_lead == Side::right || drill.partner.source == AttackSource::partner) return drill;
    if (drill.lead_sides != LeadSides::both)
        drill.lead_sides = drill.lead_sides == LeadSides::right ? LeadSides::left : LeadSides::right;
    return drill;
}

std::string words_of(Moment moment, MomentSet moments) {
    if (moments == 0) return std::string(word(moment));
    std::string words;
    for (const Moment each : {Moment::lift, Moment::drop, Moment::gap}) {
        if ((moments & moment_bit(each)) == 0) continue;
        if (!words.empty()) words += " or ";
        words += word(each);
    }
    return words;
}

bool needs_a_screen(const Drill& drill) {
    if (drill.partner.source == AttackSource::partner) return false;  // a real leg leans as it does
    return (drill.start == StartKind::random || drill.start == StartKind::hunted) &&
           std::any_of(drill.attacks.begin(), drill.attacks.end(), [](const AttackChoice& attack) {
               return attack.kind != AttackKind::feint && attack.asks(Moment::lift);
           });
}

}  // namespace breakstep
