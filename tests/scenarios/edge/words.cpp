// What is said of the edge: before a set, behind a verdict, at the rest, in a list.
#include <doctest/doctest.h>

#include "club/results/beside.hpp"
#include "hall/scene/advice.hpp"
#include "hall/scene/beside_words.hpp"
#include "hall/scene/task_view.hpp"
#include "report/drawing/exchange_words.hpp"
#include "settings/drill_file.hpp"

using namespace breakstep;
using scoring::EdgeCounts;

namespace {

Drill edge_drill() {
    auto drill = load_drill("edge", Settings{});
    REQUIRE_MESSAGE(drill.has_value(), (drill ? "" : drill.error().text()));
    return *drill;
}

RepResult rep(AtEdge at_edge, Verdict verdict = Verdict::on_time) {
    RepResult result;
    result.verdict = verdict;
    result.scored = true;
    result.at_edge = at_edge;
    result.came = CameKind::single;
    result.rung_hit = false;
    return result;
}

std::string said(const EdgeCounts& counts) {
    const ExchangeSaid words = edge_words(counts);
    return words.evidence.empty() ? words.claim : words.claim + " " + words.evidence;
}

std::string advice(const std::vector<RepResult>& reps, bool child = false) {
    const Advice words = words_of(advice_of(reps, Sign::none, StartKind::free), child);
    return words.reason.empty() ? words.line : words.line + " " + words.reason;
}

}  // namespace

TEST_CASE("the drill of the edge is for a pair, on the last rung, with a task that is read from four metres") {
    const Drill drill = edge_drill();
    CHECK(drill.asks.rung == RungAim::edge);
    CHECK(drill.asks.edge_within == 1500ms);
    CHECK(drill.partner.source == AttackSource::partner);
    CHECK(drill.start == StartKind::free);
    CHECK_FALSE(drill.whom.empty());
    SessionBegan session;
    session.drill = drill;
    const std::string task = task_of(session, 0).says;
    CHECK(task == "In and out: lead them to their edge, then answer.");
    CHECK(task.size() <= 60);
}

TEST_CASE("behind a verdict stands where the attack came from, and how soon after the edge it was met") {
    const Asks asks = edge_drill().asks;
    RepResult met = rep(AtEdge::led);
    met.edge_to_contact = 1020ms;
    CHECK(beside_words(asks, met) == "1.0 s after the edge");
    CHECK(beside_rep(met) == ", 1.02 s after the edge");
    CHECK(beside_words(asks, rep(AtEdge::led, Verdict::missed)) == "at the edge");
    CHECK(beside_words(asks, rep(AtEdge::crowded)) == "you were too close");
    CHECK(beside_words(asks, rep(AtEdge::elsewhere)) == "not at the edge");
    // Nothing is claimed of what no gate told, and a feint asked for no answer.
    CHECK(beside_words(asks, rep(AtEdge::unknown)).empty());
    RepResult feint = rep(AtEdge::led, Verdict::held);
    feint.came = CameKind::feint;
    CHECK(beside_words(asks, feint).empty());
    CHECK(beside_words(asks, rep(AtEdge::led, Verdict::void_rep)).empty());
    CHECK(beside_words(Asks{}, rep(AtEdge::not_asked)).empty());
    CHECK(beside_rep(rep(AtEdge::not_asked)).empty());
}

TEST_CASE("how often they were led there, and what became of it") {
    CHECK(said({6, 0, 0, 5, 4}) == "Led to the edge 6 times. Attacked there 5, met in time 4.");
    CHECK(said({11, 1, 0, 10, 9}) == "Led to the edge 11 times. Attacked there 10, met in time 9. Too close 1.");
    CHECK(said({1, 2, 0, 1, 0}) == "Too close 2 times: crowding is not leading. Led there 1: attacked 1, met 0.");
    CHECK(said({0, 1, 0, 0, 0}) == "Too close 1 time: crowding is not leading.");
    CHECK(said({0, 0, 0, 0, 0}) == "Never at the edge.");
    CHECK(said({2, 0, 1, 1, 1}) == "Led to the edge 2 times. Attacked there 1, met in time 1. Not known from where 1.");
    CHECK(said({0, 0, 4, 0, 0}) == "Never led to the edge. Not known from where 4.");
}

TEST_CASE("one thing to change: who crowds goes out, who never presses presses") {
    const std::vector<RepResult> crowds{rep(AtEdge::crowded), rep(AtEdge::led), rep(AtEdge::crowded)};
    CHECK(advice(crowds) == "Out again before they reach the edge. 2 times inside the near mark as they reached it.");
    CHECK(advice(crowds, true) == "Out again before they reach the edge. Best run: 3 good ones in a row.");
    const std::vector<RepResult> waits{rep(AtEdge::elsewhere), rep(AtEdge::elsewhere), rep(AtEdge::unknown)};
    CHECK(advice(waits) == "Press them back: in and out until they stop. 2 attacks from the middle of their room.");
    // Once may be chance, and whoever has led them there once does press.
    CHECK(advice({rep(AtEdge::crowded), rep(AtEdge::led), rep(AtEdge::led)}) ==
          "Good. The same again. 3 of 3 on time.");
    CHECK(advice({rep(AtEdge::elsewhere), rep(AtEdge::elsewhere), rep(AtEdge::elsewhere), rep(AtEdge::led)}) ==
          "Good. The same again. 4 of 4 on time.");
    CHECK(advice({rep(AtEdge::not_asked), rep(AtEdge::not_asked)}) == "Good. The same again. 2 of 2 on time.");
}
