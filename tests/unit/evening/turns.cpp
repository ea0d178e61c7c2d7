// The evening fold alone: whose turn it is, what a rest is, who made a set.
#include <doctest/doctest.h>

#include <algorithm>

#include "core/trade/junior.hpp"
#include "unit/evening/floor.hpp"

using namespace breakstep;
using namespace breakstep::evening;

TEST_CASE("nobody's next set begins before the rest of their age is over, and five children keep the rig busy") {
    Floor floor({{BlockKind::hall, 600s, "warm-up", Who::all, ""},
                 rounds(1500s),
                 {BlockKind::hall, 300s, "close", Who::all, ""}});
    for (std::uint64_t i = 1; i <= 5; ++i) floor.came(i, 9);
    floor.play();
    CHECK(floor.sets.size() == 15);
    std::map<AthleteId, EveningTime> rested;
    Duration busy{};
    for (const SetMade& set : floor.sets) {
        if (rested.contains(set.by)) CHECK(set.count >= rested[set.by]);
        rested[set.by] = set.end + 4 * (set.end - set.count);
        busy += set.end - set.count;
    }
    const Duration all = floor.sets.back().end - floor.sets.front().count;
    CHECK(static_cast<double>(busy.count()) > 0.7 * static_cast<double>(all.count()));
    // The rounds end with the last set owed, not with their minutes.
    CHECK(floor.now < 600s + 1500s + 300s);
}

TEST_CASE("two adults alone wait for their rests") {
    Floor floor({rounds(1200s)});
    floor.came(1, 30);
    floor.came(2, 30);
    floor.play();
    REQUIRE(floor.sets.size() == 6);
    for (std::size_t i = 2; i < floor.sets.size(); ++i) {
        CHECK(floor.sets[i].by == floor.sets[i - 2].by);
        CHECK(floor.sets[i].count - floor.sets[i - 2].end >= rest_after(floor.work, 30));
    }
}

TEST_CASE("a session goes on at its athlete's next set and is begun once") {
    Floor floor({rounds(3000s)});
    for (std::uint64_t i = 1; i <= 4; ++i) floor.came(i, 20);
    floor.play();
    CHECK(floor.started.size() == 4);
    CHECK(floor.sets.size() == 12);
}

TEST_CASE("a drill alone has a child's reps, sets and rest, and a test stays what it is") {
    Drill drill;
    drill.sets = 2;
    drill.reps = 10;
    drill.rest = 60s;
    drill.attacks.resize(1);
    const Drill child = dosed(drill, 9);
    CHECK(child.sets == 2);
    CHECK(child.reps == 6);
    CHECK(child.rest == std::max(drill.rest, rest_after(set_length(child), 9)));
    CHECK(child.rest > drill.rest);
    CHECK(dosed(drill, 15) == drill);
    CHECK(dosed(drill, 0) == drill);
    drill.rest = 600s;
    CHECK(dosed(drill, 9).rest == 600s);  // never shorter than it is written
    drill.test = true;
    CHECK(dosed(drill, 9) == drill);
}

TEST_CASE("whoever comes late has turns, whoever left has none, and one who is sore ends without loss") {
    Floor floor({rounds(3000s)});
    for (std::uint64_t i = 1; i <= 3; ++i) floor.came(i, 20);
    floor.decide();
    floor.do_set();  // 1
    floor.came(4, 20);
    floor.give(athlete(4));
    floor.record(AthleteLeft{athlete(2)});
    floor.pass(3s);
    floor.strike_for_task();
    CHECK(floor.state.at_rig != athlete(2));
    CHECK(floor.ask(Ask::sore) == Answer{AnswerKind::taken, Why::none});
    const AthleteId sore = athlete(3);
    CHECK(floor.state.find(sore)->sore);
    floor.play();
    std::map<AthleteId, int> sets;
    for (const SetMade& set : floor.sets) ++sets[set.by];
    CHECK(sets[athlete(1)] == 3);
    CHECK(sets.count(athlete(2)) == 0);
    CHECK(sets.count(sore) == 0);
    CHECK(sets[athlete(4)] == 3);
}

TEST_CASE("one who is passed over is called again later, and said to be back") {
    Floor floor({rounds(3000s)});
    for (std::uint64_t i = 1; i <= 3; ++i) floor.came(i, 20);
    floor.decide();
    const AthleteId first = floor.state.at_rig;
    CHECK(floor.ask(Ask::skip) == Answer{AnswerKind::taken, Why::none});
    CHECK(floor.state.at_rig != first);
    CHECK(floor.ask(Ask::comes_back, static_cast<std::uint64_t>(first)).kind == AnswerKind::taken);
    CHECK(floor.ask(Ask::comes_back, static_cast<std::uint64_t>(first)) == Answer{AnswerKind::refused, Why::is_here});
    floor.play();
    CHECK(floor.sets.size() == 9);
}

TEST_CASE("a set that somebody else made is that one's, and the one who was called still owes it") {
    Floor floor({rounds(3000s)});
    for (std::uint64_t i = 1; i <= 3; ++i) floor.came(i, 20);
    floor.decide();
    REQUIRE(floor.state.at_rig == athlete(1));
    SUBCASE("told in the set") {
        floor.record(SetBegan{floor.state.session, 0});
        CHECK(floor.ask(Ask::someone_else, 9) == Answer{AnswerKind::refused, Why::not_here});
        CHECK(floor.ask(Ask::someone_else, 1) == Answer{AnswerKind::refused, Why::is_called});
        CHECK(floor.ask(Ask::someone_else, 2).kind == AnswerKind::taken);
        floor.now += 35s;
        floor.record(SetDone{floor.state.session, 0, 35s});
        floor.record(StoodAside{floor.state.session});
    }
    SUBCASE("told after it") {
        floor.do_set();
        const Reply reply =
            evening::ask(floor.state, {Ask::someone_else, athlete(2), ""}, Hand::keyboard, floor.now, {});
        CHECK(reply.answer.kind == AnswerKind::taken);
        const auto* move = std::get_if<Move>(&reply.commands.back());
        REQUIRE(move != nullptr);
        CHECK(move->from == athlete(1));
        CHECK(move->to == athlete(2));
        floor.record(SetMoved{move->session, move->set, move->to, SessionId{77}});
    }
    CHECK(floor.state.find(athlete(1))->sets_done == 0);
    CHECK(floor.state.find(athlete(2))->sets_done == 1);
    CHECK(floor.state.find(athlete(2))->rest_until > floor.now);
}

TEST_CASE("a set that was cut may still be said to be another's, and nobody has done it") {
    Floor floor({rounds(3000s)});
    for (std::uint64_t i = 1; i <= 3; ++i) floor.came(i, 20);
    floor.decide();
    floor.record(SetBegan{floor.state.session, 0});
    const SessionId session = floor.state.session;
    SUBCASE("by standing aside") { floor.record(StoodAside{session}); }
    SUBCASE("with the program") { floor.record(WentOn{5}); }
    const Reply reply = evening::ask(floor.state, {Ask::someone_else, athlete(2), ""}, Hand::keyboard, floor.now, {});
    CHECK(reply.answer.kind == AnswerKind::taken);
    const auto* move = std::get_if<Move>(&reply.commands.back());
    REQUIRE(move != nullptr);
    CHECK(move->session == session);
    CHECK(move->to == athlete(2));
    floor.record(SetMoved{move->session, move->set, move->to, SessionId{77}, 3, 9});
    CHECK(floor.state.find(athlete(1))->sets_done == 0);
    CHECK(floor.state.find(athlete(2))->sets_done == 0);
    CHECK(floor.state.find(athlete(2))->rest_until > floor.now);
}

TEST_CASE("a strike within the dead time calls nobody") {
    Floor floor({rounds(3000s)});
    for (std::uint64_t i = 1; i <= 3; ++i) floor.came(i, 20);
    floor.decide();
    floor.do_set();
    floor.pass(1s);
    floor.strike_for_task();
    CHECK(floor.state.rig == AtRig::nobody);
    floor.pass(2s);
    floor.strike_for_task();
    CHECK(floor.state.rig == AtRig::called);
}

TEST_CASE("the journal folded again is the state of before") {
    Floor floor({{BlockKind::hall, 60s, "warm-up", Who::all, ""}, rounds(900s)});
    for (std::uint64_t i = 1; i <= 7; ++i) floor.came(i, i % 2 == 0 ? 10 : 30);
    floor.play();
    for (std::size_t cut = 1; cut <= floor.records.size(); ++cut) {
        State again, whole;
        for (std::size_t i = 0; i < cut; ++i) {
            std::string bytes;
            encode(floor.records[i].event, bytes);
            const auto event = evening::decode(kind_of(floor.records[i].event), bytes);
            REQUIRE(event);
            fold(again, *event, floor.records[i].at);
            fold(whole, floor.records[i].event, floor.records[i].at);
        }
        CHECK(again.rig == whole.rig);
        CHECK(again.sets == whole.sets);
        CHECK(again.at_rig == whole.at_rig);
        for (std::size_t i = 0; i < again.people.size(); ++i) {
            CHECK(again.people[i].rest_until == whole.people[i].rest_until);
            CHECK(again.people[i].sets_done == whole.people[i].sets_done);
        }
    }
}
