#include "core/advice/advice.hpp"

#include <algorithm>
#include <array>

namespace breakstep {
namespace {

bool is_good(const RepResult& rep) {
    return rep.verdict == Verdict::on_time || rep.verdict == Verdict::around || rep.verdict == Verdict::held;
}

/// From the contact to the next time the leg falls below the hip.
std::optional<Duration> before_hip_line(const RepResult& rep) {
    if (!rep.contact_from_onset) return std::nullopt;
    Duration begin{};
    for (const AttackPhase& phase : rep.phases) {
        if (phase.phase == Phase::drop && begin > *rep.contact_from_onset) return begin - *rep.contact_from_onset;
        begin += phase.length;
    }
    return std::nullopt;
}

bool has_warning(StartKind start) { return start == StartKind::pattern || start == StartKind::drawn; }

struct Counted {
    std::array<int, static_cast<std::size_t>(Verdict::void_rep) + 1> of{};
    int scored = 0, rated = 0, rooms = 0, rooms_kept = 0;
    int clashes_for_drop = 0, clashes_with_hands = 0;
    int lift_too_late = 0, lift_with_warning = 0;
    int stayed = 0, on_the_line = 0, one_alone = 0, far = 0, no_room = 0, deep = 0, undrawn = 0;
    int led = 0, crowded = 0, not_led = 0;
    int before_it_moved = 0, early_for_gap = 0, late_for_drop = 0, late_for_gap = 0, feints_taken = 0;
    SetAdvice clashes;
    int best_run = 0;

    [[nodiscard]] int count(Verdict verdict) const { return of[static_cast<std::size_t>(verdict)]; }
    [[nodiscard]] int good() const { return count(Verdict::on_time) + count(Verdict::around); }
};

void count_clash(const RepResult& rep, Counted& sum) {
    if (rep.phase == Phase::hands) ++sum.clashes_with_hands;
    // Where the leg may spring out again, no way to start helps.
    if (rep.asked.moment != Moment::drop || rep.asked.kind == AttackKind::rebound || rep.phase == Phase::hands) return;
    ++sum.clashes_for_drop;
    if (rep.phase == Phase::up) ++sum.clashes.rising;
    const auto before = before_hip_line(rep);
    if (!before) return;
    sum.clashes.least_before_line = std::min(*before, sum.clashes.least_before_line.value_or(*before));
    sum.clashes.most_before_line = std::max(*before, sum.clashes.most_before_line.value_or(*before));
}

void count_off_time(const RepResult& rep, Counted& sum) {
    const bool early = rep.verdict == Verdict::early, late = rep.verdict == Verdict::late;
    const bool clash = rep.verdict == Verdict::clash;
    if (early && rep.contact_from_onset && *rep.contact_from_onset < Duration{}) ++sum.before_it_moved;
    if (early && rep.asked.moment == Moment::gap && rep.phase == Phase::drop) ++sum.early_for_gap;
    if (late && rep.asked.moment == Moment::drop) ++sum.late_for_drop;
    if (late && rep.asked.moment == Moment::gap) ++sum.late_for_gap;
    if ((late || clash) && rep.asked.moment == Moment::lift) {
        ++sum.lift_too_late;
        if (has_warning(rep.start)) ++sum.lift_with_warning;
    }
}

// Where the athlete stood, what drew the attack, and what was asked beside the strike.
void count_beside(const RepResult& rep, StartKind start, Counted& sum) {
    if (rep.out_in_time == false) ++sum.stayed;
    if (rep.off_line == false) ++sum.on_the_line;
    if (rep.followed_up == false) ++sum.one_alone;
    if (rep.stood == Zone::beyond) ++sum.far;
    if (rep.stood == Zone::back) ++sum.no_room;
    if (rep.drew_by == DrewBy::ground_given_twice && rep.gave > 0) ++sum.deep;
    if (start == StartKind::drawn && rep.drew_by == DrewBy::nothing) ++sum.undrawn;
    if (rep.at_edge == AtEdge::led) ++sum.led;
    if (rep.at_edge == AtEdge::crowded) ++sum.crowded;
    if (rep.at_edge == AtEdge::elsewhere) ++sum.not_led;
}

Counted counted(std::span<const RepResult> reps, StartKind start) {
    Counted sum;
    int run = 0;
    for (const RepResult& rep : reps) {
        if (rep.verdict == Verdict::void_rep || (rep.catch_trial && rep.verdict == Verdict::held)) continue;
        run = is_good(rep) ? run + 1 : 0;
        sum.best_run = std::max(sum.best_run, run);
        ++sum.of[static_cast<std::size_t>(rep.verdict)];
        if (rep.scored) ++sum.scored;
        if (!rep.scored && rep.rung_hit) {
            ++sum.rooms;
            sum.rooms_kept += *rep.rung_hit ? 1 : 0;
        }
        if (rep.scored || rep.asked.kind == AttackKind::feint) ++sum.rated;
        // A catch trial struck is a guess at nothing, not a feint that was taken.
        if (rep.catch_trial) {
            ++sum.before_it_moved;
            continue;
        }
        if (rep.verdict == Verdict::took_the_feint) ++sum.feints_taken;
        if (rep.verdict == Verdict::clash) count_clash(rep, sum);
        count_off_time(rep, sum);
        count_beside(rep, start, sum);
    }
    return sum;
}

/// Whether the lift was asked of any attack: a feint can't be told from it before it turns.
bool asks_for_lift(std::span<const RepResult> reps) {
    return std::any_of(reps.begin(), reps.end(),
                       [](const RepResult& rep) { return rep.scored && rep.asked.moment == Moment::lift; });
}

SetAdvice chosen(std::span<const RepResult> reps, const Counted& sum, Sign sign, StartKind start) {
    const auto say = [&](AdviceKind kind, int count) { return SetAdvice{kind, count, sum.rated, 0, {}, {}, 0}; };
    // A third of a set is what a coach would speak of; under two it may be chance.
    const auto often = [&](int count) { return count >= 2 && 3 * count >= sum.rated; };
    if (sum.count(Verdict::got_hit) >= 2) return say(AdviceKind::stay_outside, sum.count(Verdict::got_hit));
    if (sum.crowded >= 2 && 2 * sum.crowded >= sum.led) return say(AdviceKind::lead_from_outside, sum.crowded);
    if (sum.not_led >= 2 && sum.led + sum.crowded == 0) return say(AdviceKind::press_back, sum.not_led);
    if (often(sum.undrawn)) return say(AdviceKind::make_it_come, sum.undrawn);
    if (often(sum.deep)) return say(AdviceKind::shorter_back, sum.deep);
    if (often(sum.no_room)) return say(AdviceKind::keep_room, sum.no_room);
    // Drawn by giving ground it is right to be out there.
    if (start != StartKind::drawn && often(sum.far)) return say(AdviceKind::home_first, sum.far);
    if (often(sum.lift_too_late))
        return say(sum.lift_with_warning > 0 ? AdviceKind::as_it_lifts : AdviceKind::take_the_drop, sum.lift_too_late);
    if (often(sum.clashes_with_hands)) return say(AdviceKind::before_the_hands, sum.clashes_with_hands);
    if (often(sum.clashes_for_drop)) {
        SetAdvice advice = sum.clashes;
        advice.kind = AdviceKind::arrive_in_the_drop;
        advice.count = sum.clashes_for_drop;
        advice.of = sum.rated;
        return advice;
    }
    if (sum.feints_taken >= 2 && !asks_for_lift(reps)) return say(AdviceKind::start_once_up, sum.feints_taken);
    if (sum.before_it_moved >= 2) return say(AdviceKind::until_it_moves, sum.before_it_moved);
    if (often(sum.early_for_gap)) return say(AdviceKind::as_the_foot_lands, sum.early_for_gap);
    if (often(sum.late_for_drop)) return say(AdviceKind::start_sooner, sum.late_for_drop);
    if (often(sum.late_for_gap)) return say(AdviceKind::before_it_goes_on, sum.late_for_gap);
    const auto twice = [&](Verdict verdict, AdviceKind kind) -> std::optional<SetAdvice> {
        if (sum.count(verdict) < 2) return std::nullopt;
        return say(kind, sum.count(verdict));
    };
    if (often(sum.on_the_line)) return say(AdviceKind::off_the_line, sum.on_the_line);
    if (often(sum.one_alone)) return say(AdviceKind::strike_again, sum.one_alone);
    if (often(sum.stayed)) return say(AdviceKind::out_at_once, sum.stayed);
    if (const auto said = twice(Verdict::gave_ground, AdviceKind::stay_in_reach)) return *said;
    if (const auto said = twice(Verdict::no_step, AdviceKind::step_in)) return *said;
    if (const auto said = twice(Verdict::wrong_pad, AdviceKind::choose_the_pad)) return *said;
    if (often(sum.count(Verdict::missed))) return say(AdviceKind::answer_each, sum.count(Verdict::missed));
    const bool mostly = sum.scored > 0 && 5 * sum.good() >= 4 * sum.scored;
    SetAdvice rest{AdviceKind::keep_at_it, sum.good(), sum.scored, 0, {}, {}, 0};
    if (mostly) rest.kind = sign == Sign::none ? AdviceKind::same_again : AdviceKind::change_pace;
    return rest;
}

// In and out: too near, or too far; nothing is struck.
SetAdvice advice_of_room(const Counted& sum) {
    SetAdvice advice;
    advice.room = true;
    advice.best_run = sum.best_run;
    advice.of = sum.rooms;
    const int near = sum.count(Verdict::got_hit), far = sum.count(Verdict::gave_ground);
    if (near >= 2 && near >= far) {
        advice.kind = AdviceKind::stay_outside;
        advice.count = near;
    } else if (far >= 2) {
        advice.kind = AdviceKind::stay_in_reach;
        advice.count = far;
    } else {
        advice.kind = 5 * sum.rooms_kept >= 4 * sum.rooms ? AdviceKind::same_again : AdviceKind::keep_at_it;
        advice.count = sum.rooms_kept;
    }
    return advice;
}

}  // namespace

SetAdvice advice_of(std::span<const RepResult> reps, Sign sign, StartKind start) {
    const Counted sum = counted(reps, start);
    if (sum.rooms > 0) return advice_of_room(sum);
    if (sum.rated == 0) return {};
    SetAdvice advice = chosen(reps, sum, sign, start);
    advice.best_run = sum.best_run;
    return advice;
}

}  // namespace breakstep
