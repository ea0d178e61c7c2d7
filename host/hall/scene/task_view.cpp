#include "hall/scene/task_view.hpp"

#include <algorithm>
#include <cmath>
#include <set>

#include "core/reading/timeable_index.hpp"
#include "core/trade/plan.hpp"
#include "hall/scene/advice.hpp"
#include "hall/scene/task_words.hpp"
#include "report/drawing/strips_of_score.hpp"

namespace breakstep {
namespace {

bool is_asked(const AttackChoice& attack) { return attack.kind != AttackKind::feint; }

bool asks_the_same(const AttackChoice& one, const AttackChoice& other) {
    const auto moments = [](const AttackChoice& each) {
        return each.moments != 0 ? each.moments : moment_bit(each.moment);
    };
    return moments(one) == moments(other) && one.counter == other.counter && one.pads == other.pads;
}

/// The answer that most attacks ask for, by its first and simplest attack.
const AttackChoice* mainly_asked(const Drill& drill) {
    const AttackChoice* best = nullptr;
    std::int32_t most = 0;
    for (const AttackChoice& each : drill.attacks) {
        if (!is_asked(each)) continue;
        std::int32_t share = 0;
        for (const AttackChoice& other : drill.attacks)
            if (is_asked(other) && asks_the_same(each, other)) share += other.share;
        if (share > most) {
            most = share;
            best = &each;
        }
    }
    return best;
}

/// An attack at its mean lengths: the opponent that the drill has, without its scatter.
AttackTimeline mean_attack(const Drill& drill, const AttackChoice& choice) {
    OpponentSettings steady = drill.opponent;
    steady.spread = 0;
    steady.untidy = false;
    Random any(1);
    return timeline_of(choice.kind, draw_attack(steady, choice.kind, choice.rebounds, any));
}

std::string_view kind_words(const AttackChoice& choice) {
    switch (choice.kind) {
        case AttackKind::rebound:
            return "if it springs";
        case AttackKind::carry:
            return "if it holds";
        case AttackKind::reset:
            return "after two kicks";
        case AttackKind::leg_to_hands:
            return "before its hands";
        default:
            return "a single kick";
    }
}

std::string also_asked(const Drill& drill, const AttackChoice& mainly) {
    // A coin asks for the one or the other, never for both.
    if (drill.asks.first_or_after) return "";
    std::string also;
    std::set<std::string> said;
    for (const AttackChoice& each : drill.attacks) {
        if (!is_asked(each) || asks_the_same(each, mainly)) continue;
        const std::string one = std::string(kind_words(each)) + ": " + words_of(each.moment, each.moments);
        if (!said.insert(one).second) continue;
        also += (also.empty() ? "" : ", ") + one;
    }
    return also;
}

}  // namespace

Side front_foot(const Drill& drill, Side athlete_lead) {
    if (drill.lead_sides == LeadSides::both) return athlete_lead;
    const Side opponent = drill.lead_sides == LeadSides::left ? Side::left : Side::right;
    if (drill.stance == Stance::closed) return opponent;
    return opponent == Side::left ? Side::right : Side::left;
}

StageTask task_of(const SessionBegan& session, std::int32_t set) {
    const Drill& drill = session.drill;
    StageTask task;
    task.set = set + 1;
    task.sets = drill.sets;
    task.reps = drill.reps;
    if (drill.start == StartKind::free) task.round = drill.partner.round;
    task.athlete_lead = front_foot(drill, session.athlete_lead);
    task.opponent_lead = drill.lead_sides == LeadSides::left ? Side::left : Side::right;
    task.both_leads = drill.lead_sides == LeadSides::both;
    task.leans = drill.telegraph.shown > 0;
    task.feints = std::any_of(drill.attacks.begin(), drill.attacks.end(),
                              [](const AttackChoice& each) { return each.kind == AttackKind::feint; });
    const std::int32_t by_coin = asked_in_set(drill, session.seed, set);
    const AttackChoice* asked = by_coin >= 0 ? &drill.attacks[static_cast<std::size_t>(by_coin)] : mainly_asked(drill);
    if (asked == nullptr) return task;
    task.attack = mean_attack(drill, *asked);
    task.moments = asked->moments != 0 ? asked->moments : moment_bit(asked->moment);
    task.around = asked->kind == AttackKind::carry && asked->counter == Counter::spin;
    task.counter = asked->counter;
    task.pads = asked->pads;
    task.strikes = drill.asks.rung != RungAim::range;
    task.also = drill.asks.call_it_set == task.set ? "then call it yourself" : also_asked(drill, *asked);
    task.says = task_words(drill, task);
    return task;
}

StageSummary summary_of(const Score& score, bool child) {
    StageSummary summary;
    std::int32_t last_set = 0;
    for (const RepResult& rep : score.reps()) last_set = std::max(last_set, rep.set);
    std::vector<RepResult> last;
    for (const RepResult& rep : score.reps())
        if (rep.set == last_set) last.push_back(rep);
    const SetAdvice made = advice_of(last, score.totals().sign, score.start());
    const Advice advice = words_of(made, child);
    summary.advice = advice.line;
    summary.reason = advice.reason;
    summary.best_run = made.best_run;
    if (child) return summary;
    const LastTime now = last_time_of(score.reps());
    summary.on_time = now.on_time;
    summary.of = now.of;
    summary.answers = now.answers;
    for (const RepResult& rep : last)
        if (!rep.catch_trial) summary.reps.push_back(strip_rep(rep));
    return summary;
}

LastTime last_time_of(std::span<const RepResult> reps) {
    LastTime last;
    for (const RepResult& rep : reps) {
        if (!rep.scored) continue;
        ++last.of;
        last.on_time += rep.verdict == Verdict::on_time || rep.verdict == Verdict::around ? 1 : 0;
        last.answers.push_back(rep.verdict);
    }
    return last;
}

Difference difference_of_shares(int hits, int of, int hits_before, int of_before) {
    const auto share = [](int x, int n) { return n > 0 ? static_cast<double>(x) / n : 0.5; };
    const double now = share(hits, of), before = share(hits_before, of_before), by = now - before;
    const auto of_now = reading::wilson(static_cast<std::uint64_t>(hits), static_cast<std::uint64_t>(of));
    const auto of_then =
        reading::wilson(static_cast<std::uint64_t>(hits_before), static_cast<std::uint64_t>(of_before));
    return {by - std::hypot(now - of_now.low, of_then.high - before),
            by + std::hypot(of_now.high - now, before - of_then.low)};
}

void add_last_time(StageSummary& summary, const LastTime& last) {
    if (last.of <= 0 || summary.of <= 0) return;
    summary.last_on_time = last.on_time;
    summary.last_of = last.of;
    summary.last_answers = last.answers;
    const Difference by = difference_of_shares(summary.on_time, summary.of, last.on_time, last.of);
    summary.compared = by.low > 0 ? "more than last time" : by.high < 0 ? "fewer than last time" : "about as last time";
}

}  // namespace breakstep
