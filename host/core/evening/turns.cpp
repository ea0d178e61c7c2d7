// What follows from a state: blocks, turns, the end.
#include <algorithm>
#include <cstdlib>
#include <tuple>

#include "core/evening/evening.hpp"

namespace breakstep::evening {
namespace {

// A set that would end so much after its block does not begin any more.
constexpr Duration over_the_end = 15s;

bool belongs(const Person& person, const Block& block) { return calls(block, person.age); }

bool owes_sets(const State& state, const Person& person) {
    const Block* block = state.current();
    return block != nullptr && block->kind == BlockKind::rounds && belongs(person, *block) && person.here &&
           !person.sore && person.sets_done < person.dose.sets;
}

EveningTime block_end(const State& state) { return state.block_began + state.current()->length; }

bool fits(const State& state, const Person& person, EveningTime now) {
    return now + person.dose.work <= block_end(state) + over_the_end;
}

// Those whose turn it may be, the one who goes first in front. Five rest in turn: a pool is the first five who still
// owe sets, in the order of heights, then of coming; another one goes only where the rig would stand idle.
std::vector<const Person*> in_order(const State& state) {
    std::vector<const Person*> owing;
    for (const Person& each : state.people)
        if (owes_sets(state, each)) owing.push_back(&each);
    std::stable_sort(owing.begin(), owing.end(),
                     [](const Person* a, const Person* b) { return a->height_order < b->height_order; });
    // Who has begun stays in the pool.
    std::stable_partition(owing.begin(), owing.end(), [](const Person* one) { return one->sets_done > 0; });
    const auto pool_end = owing.begin() + std::min<std::ptrdiff_t>(pool_size, std::ssize(owing));
    // The gates stand for somebody's height: those of it go on until none of them is rested.
    const auto fits_gates = [&state](const Person* one) {
        return state.gates_for == 0 || one->height_order == 0 || one->height_order == state.gates_for;
    };
    const auto longest_rested = [&](const Person* a, const Person* b) {
        if (a->passed_over != b->passed_over) return b->passed_over;
        if (fits_gates(a) != fits_gates(b)) return fits_gates(a);
        return a->last_set < b->last_set;
    };
    std::stable_sort(owing.begin(), pool_end, longest_rested);
    std::stable_sort(pool_end, owing.end(), longest_rested);
    return owing;
}

const Person* ready(const State& state, EveningTime now) {
    for (const Person* one : in_order(state))
        if (one->rest_until <= now && fits(state, *one, now)) return one;
    return nullptr;
}

// Whether anyone could still begin a set before the block is over.
bool anyone_left(const State& state, EveningTime now) {
    for (const Person& each : state.people)
        if (owes_sets(state, each) && fits(state, each, std::max(now, each.rest_until))) return true;
    return false;
}

bool block_is_over(const State& state, EveningTime now) {
    const Block& block = *state.current();
    if (state.block_over || now >= block_end(state)) return true;
    return block.kind == BlockKind::rounds && !anyone_left(state, now);
}

std::vector<Command> begin_block(const State& state) {
    // What a block leaves undone is not carried into another.
    for (const Person& each : state.people)
        if (each.session) return {End{*each.session}};
    const std::int32_t next = state.block + 1;
    if (next >= static_cast<std::int32_t>(state.began.blocks.size()) || state.by_coach)
        return {Record{EveningEnded{state.by_coach}}, Over{}};
    std::vector<Command> commands{Record{BlockBegan{next}}};
    if (state.began.blocks[static_cast<std::size_t>(next)].kind == BlockKind::rounds)
        commands.emplace_back(GiveDoses{next});
    return commands;
}

std::vector<Command> call(const Person& one, SessionId fresh) {
    if (one.session) return {Record{TurnCalled{one.athlete, *one.session, false}}, Resume{one.athlete, *one.session}};
    // Retention, not practice: from the second turn of a drill on the first set is told nothing. Children under 11 keep
    // less with thinned feedback and are told all.
    constexpr std::int32_t told_all_until = 10;
    const bool youngest = one.age > 0 && one.age <= told_all_until;
    constexpr std::int32_t told_at_once_sets = 2;
    Start start{one.athlete, fresh, one.dose, one.dose.sets - one.sets_done, false, false};
    start.silent_first = one.turns > 0 && !youngest;
    start.words_at_once = is_child(one.age) || one.sets_done < told_at_once_sets;
    return {Record{TurnCalled{one.athlete, fresh, true}}, start};
}

}  // namespace

std::vector<Command> next_step(const State& state, EveningTime now, SessionId fresh) {
    if (state.over || state.rig == AtRig::running) return {};
    // A rest is somebody else's set.
    if (state.rig == AtRig::leaving) return {StandAside{}};
    const bool ends = state.by_coach || state.block < 0 || state.current() == nullptr || block_is_over(state, now);
    if (state.rig == AtRig::called) {
        const Person* one = state.find(state.at_rig);
        const bool gone = one == nullptr || !one->here || one->sore || one->passed_over;
        if (ends || gone) return {StandAside{}};
        return {};
    }
    if (state.paused && !state.by_coach) return {};
    for (const Person& each : state.people)
        if (each.stale && each.session) return {End{*each.session}};
    if (ends) return begin_block(state);
    if (state.current()->kind != BlockKind::rounds || !state.rig_here) return {};
    // "Strike a pad for your task": the first of a block is called at once.
    const Person* one = ready(state, now);
    if (const Person* wanted = state.call_next ? state.find(*state.call_next) : nullptr;
        wanted != nullptr && owes_sets(state, *wanted) && wanted->rest_until <= now)
        return call(*wanted, fresh);
    if (!state.summoned && state.called_before) return {};
    return one == nullptr ? std::vector<Command>{} : call(*one, fresh);
}

std::optional<EveningTime> next_due(const State& state) {
    if (state.over || state.current() == nullptr) return std::nullopt;
    EveningTime next = block_end(state);
    for (const Person& each : state.people)
        if (owes_sets(state, each)) {
            next = std::min(next, std::max(each.rest_until, state.free_since));
            // The last moment at which its set would still fit.
            const EveningTime last = block_end(state) + over_the_end - each.dose.work + 1ns;
            if (last > state.free_since) next = std::min(next, last);
        }
    return next;
}

std::optional<AthleteId> next_up(const State& state, EveningTime now) {
    if (state.over || state.current() == nullptr) return std::nullopt;
    if (const Person* one = ready(state, now); one != nullptr && one->athlete != state.at_rig) return one->athlete;
    const Person* soonest = nullptr;
    for (const Person* one : in_order(state))
        if (one->athlete != state.at_rig && (soonest == nullptr || one->rest_until < soonest->rest_until))
            soonest = one;
    if (soonest == nullptr) return std::nullopt;
    return soonest->athlete;
}

std::vector<Following> following(const State& state, EveningTime now) {
    std::vector<Following> all;
    if (state.over || state.current() == nullptr) return all;
    for (const Person* one : in_order(state))
        if (one->athlete != state.at_rig) all.push_back({one->athlete, std::max(Duration{}, one->rest_until - now)});
    // Whoever is rested goes before those who are not.
    std::stable_sort(all.begin(), all.end(), [](const Following& a, const Following& b) { return a.rests < b.rests; });
    return all;
}

std::optional<AthleteId> partner_for(const State& state, AthleteId athlete) {
    const Person* answers = state.find(athlete);
    if (answers == nullptr) return std::nullopt;
    const std::int32_t height = answers->height_order;
    const auto apart = [height](const Person& one) {
        const bool known = height != 0 && one.height_order != 0;
        return known ? std::abs(one.height_order - height) : height == one.height_order ? 0 : 1;
    };
    // The order of turns, from its end: whoever is next has the least time for it.
    std::vector<AthleteId> order;
    for (const Person* one : in_order(state)) order.push_back(one->athlete);
    const auto waits = [&order](const Person& one) {
        const auto found = std::find(order.begin(), order.end(), one.athlete);
        return found == order.end() ? std::ptrdiff_t{-1} : found - order.begin();
    };
    const Person* best = nullptr;
    for (const Person& one : state.people) {
        if (one.athlete == athlete || !one.here || one.sore) continue;
        const auto worth = [&](const Person& each) {
            return std::tuple(is_child(each.age) != is_child(answers->age), apart(each), -waits(each));
        };
        if (best == nullptr || worth(one) < worth(*best)) best = &one;
    }
    return best == nullptr ? std::nullopt : std::optional(best->athlete);
}

bool calls(const Block& block, std::int32_t age) {
    if (block.who == Who::all) return true;
    return is_child(age) == (block.who == Who::juniors);
}

std::int32_t Fit::sets_that_fit() const {
    if (needed <= length || needed == Duration{}) return sets;
    return static_cast<std::int32_t>(sets * length / needed);
}

Fit fit_of(const State& state, const Block& block) {
    Fit fit;
    fit.length = block.length;
    for (const Person& each : state.people) {
        if (!each.here || !belongs(each, block)) continue;
        fit.sets += each.dose.sets;
        fit.needed += each.dose.sets * (each.dose.work + change_time);
    }
    return fit;
}

}  // namespace breakstep::evening
