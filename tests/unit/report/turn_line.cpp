// The line that a coach reads as a turn ends.
#include <doctest/doctest.h>

#include "club/results/turn_line.hpp"

using namespace breakstep;

namespace {

RepResult rep(Verdict verdict, bool telegraphed = false, bool feint = false) {
    RepResult result;
    result.verdict = verdict;
    result.scored = !feint;
    result.telegraphed = telegraphed;
    if (feint) result.asked.kind = AttackKind::feint;
    return result;
}

}  // namespace

TEST_CASE("a coach's line says what was on time, what went wrong most, and what gave the athlete away") {
    SessionResults session;
    session.athlete = "Heron";
    session.reps = {rep(Verdict::on_time),
                    rep(Verdict::clash),
                    rep(Verdict::clash),
                    rep(Verdict::late),
                    rep(Verdict::held, true, true),
                    rep(Verdict::took_the_feint, true, true)};
    session.totals.scored = 4;
    session.totals.on_time = 1;
    session.totals.feints = 2;
    session.totals.feints_taken = 1;
    session.totals.sign = Sign::tell;
    session.totals.sign_reason = "same beat: 0.82 s, six times";
    CHECK(line_for_coach(session) ==
          "Heron: 1 of 4 on time; mostly clash (2); 1 of 2 feints taken; 1 of 2 lies taken; can be timed, yes: same "
          "beat: 0.82 s, six times");
}

TEST_CASE("a coach's line says when nothing was scored, and names no fault that came once") {
    SessionResults session;
    session.athlete = "Dunlin";
    CHECK(line_for_coach(session) == "Dunlin: nothing scored");
    session.reps = {rep(Verdict::on_time), rep(Verdict::late)};
    session.totals.scored = 2;
    session.totals.on_time = 1;
    CHECK(line_for_coach(session) == "Dunlin: 1 of 2 on time");
}
