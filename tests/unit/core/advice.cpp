// What is told after a set: only what the reps show.
#include "core/advice/advice.hpp"

#include <doctest/doctest.h>

#include <vector>

using namespace breakstep;

namespace {

RepResult rep(Verdict verdict, std::optional<Duration> contact = std::nullopt, Phase phase = Phase::guard,
              Moment asked = Moment::drop) {
    RepResult result;
    result.verdict = verdict;
    result.scored = verdict != Verdict::void_rep;
    result.asked.moment = asked;
    result.contact_from_onset = contact;
    if (contact) result.phase = phase;
    result.phases = {{Phase::lift, false, 140ms},
                     {Phase::up, false, 220ms},
                     {Phase::pull_back, false, 180ms},
                     {Phase::drop, false, 160ms},
                     {Phase::gap, false, 250ms}};
    return result;
}

RepResult feint(Verdict verdict) {
    RepResult result;
    result.asked.kind = AttackKind::feint;
    result.verdict = verdict;
    return result;
}

std::vector<RepResult> several(int count, const RepResult& one) {
    return std::vector(static_cast<std::size_t>(count), one);
}

std::vector<RepResult> operator+(std::vector<RepResult> first, const std::vector<RepResult>& second) {
    first.insert(first.end(), second.begin(), second.end());
    return first;
}

AdviceKind kind_of(const std::vector<RepResult>& reps, Sign sign = Sign::none) { return advice_of(reps, sign).kind; }

}  // namespace

TEST_CASE("an empty set, and one of voids alone, is advised nothing") {
    CHECK(advice_of({}, Sign::tell) == SetAdvice{});
    CHECK(kind_of(several(5, rep(Verdict::void_rep))) == AdviceKind::none);
}

TEST_CASE("where clashes fell is measured: how long before the hip line, or while the leg went up") {
    const auto near_line = rep(Verdict::clash, 500ms, Phase::pull_back),
               nearer = rep(Verdict::clash, 530ms, Phase::pull_back);
    const SetAdvice close = advice_of(several(2, near_line) + std::vector{nearer}, Sign::none);
    CHECK(close.kind == AdviceKind::arrive_in_the_drop);
    CHECK(close.count == 3);
    CHECK(close.rising == 0);
    CHECK(close.least_before_line == 10ms);
    CHECK(close.most_before_line == 40ms);
    const SetAdvice rising = advice_of(several(3, rep(Verdict::clash, 200ms, Phase::up)), Sign::none);
    CHECK(rising.rising == 3);
    CHECK(rising.most_before_line == 340ms);
    // One of ten is chance, and a third is not.
    CHECK(kind_of(several(1, near_line) + several(9, rep(Verdict::on_time))) == AdviceKind::same_again);
    CHECK(kind_of(several(4, near_line) + several(8, rep(Verdict::on_time))) == AdviceKind::arrive_in_the_drop);
}

TEST_CASE("clashes on rebounds are not advised upon: no way to start helps there") {
    RepResult rebound = rep(Verdict::clash, 500ms, Phase::pull_back);
    rebound.asked.kind = AttackKind::rebound;
    CHECK(kind_of(several(10, rebound)) == AdviceKind::keep_at_it);
}

TEST_CASE("a lift that comes without warning is never asked for more quickly") {
    RepResult late = rep(Verdict::late, 600ms, Phase::drop, Moment::lift);
    CHECK(kind_of(several(6, late)) == AdviceKind::take_the_drop);
    late.start = StartKind::pattern;
    CHECK(kind_of(several(6, late)) == AdviceKind::as_it_lifts);
    late.start = StartKind::drawn;
    CHECK(kind_of(several(6, late)) == AdviceKind::as_it_lifts);
}

TEST_CASE("feints, guesses at nothing and the gap each have their own") {
    CHECK(kind_of(several(2, feint(Verdict::took_the_feint)) + several(8, rep(Verdict::on_time))) ==
          AdviceKind::start_once_up);
    // Asked for the lift nobody can wait for the leg to be up.
    CHECK(kind_of(several(2, feint(Verdict::took_the_feint)) +
                  several(8, rep(Verdict::on_time, 50ms, Phase::lift, Moment::lift))) == AdviceKind::same_again);
    RepResult nothing_came = feint(Verdict::took_the_feint);
    nothing_came.asked.kind = AttackKind::single;
    nothing_came.catch_trial = true;
    CHECK(kind_of(several(1, nothing_came) + several(1, rep(Verdict::early, Duration(-300ms))) +
                  several(8, rep(Verdict::on_time))) == AdviceKind::until_it_moves);
    CHECK(kind_of(several(4, rep(Verdict::early, 600ms, Phase::drop, Moment::gap))) == AdviceKind::as_the_foot_lands);
    CHECK(kind_of(several(4, rep(Verdict::late, 990ms, Phase::guard, Moment::gap))) == AdviceKind::before_it_goes_on);
    CHECK(kind_of(several(4, rep(Verdict::clash, 990ms, Phase::hands, Moment::gap))) == AdviceKind::before_the_hands);
}

TEST_CASE("a change of pace is asked of those whose rhythm was told, after a good set") {
    const auto good = several(9, rep(Verdict::on_time)) + several(1, rep(Verdict::missed));
    CHECK(kind_of(good, Sign::none) == AdviceKind::same_again);
    CHECK(kind_of(good, Sign::tell) == AdviceKind::change_pace);
    CHECK(advice_of(good, Sign::tell).count == 9);
    CHECK(advice_of(good, Sign::tell).of == 10);
    CHECK(advice_of(good, Sign::tell).best_run == 9);
    CHECK(kind_of(several(5, rep(Verdict::on_time)) + several(5, rep(Verdict::missed)), Sign::tell) ==
          AdviceKind::answer_each);
}
