// The evening fold alone: what is asked of it, and what it answers.
#include <doctest/doctest.h>

#include <algorithm>

#include "unit/evening/floor.hpp"

using namespace breakstep;
using namespace breakstep::evening;

TEST_CASE("told before the set, the right one is called") {
    Floor floor({rounds(3000s)});
    for (std::uint64_t i = 1; i <= 3; ++i) floor.came(i, 20);
    floor.decide();
    REQUIRE(floor.state.at_rig == athlete(1));
    CHECK(floor.ask(Ask::someone_else, 3).kind == AnswerKind::taken);
    CHECK(floor.state.at_rig == athlete(3));
    CHECK(floor.state.rig == AtRig::called);
}

TEST_CASE("a request that comes too late or can't be had is refused with its reason, and journalled") {
    Floor floor({rounds(3000s)});
    floor.came(1, 20);
    CHECK(floor.ask(Ask::go_on) == Answer{AnswerKind::refused, Why::not_paused});
    CHECK(floor.ask(Ask::void_last) == Answer{AnswerKind::refused, Why::no_rep});
    CHECK(floor.ask(Ask::take_back, 0, false) == Answer{AnswerKind::refused, Why::not_void});
    CHECK(floor.ask(Ask::void_last, 0, true) == Answer{AnswerKind::refused, Why::void_so});
    CHECK(floor.ask(Ask::repeat) == Answer{AnswerKind::refused, Why::no_set});
    floor.record(SetBegan{floor.state.session, 0});
    CHECK(floor.ask(Ask::skip) == Answer{AnswerKind::too_late, Why::set_runs});
    CHECK(floor.ask(Ask::pause).kind == AnswerKind::taken);
    CHECK(floor.ask(Ask::pause) == Answer{AnswerKind::refused, Why::paused_already});
    CHECK(std::count_if(floor.records.begin(), floor.records.end(),
                        [](const EveningRecord& record) { return std::holds_alternative<Asked>(record.event); }) == 8);
}

TEST_CASE("nobody is called in a pause, nor while the rig is away") {
    Floor floor({rounds(3000s)});
    floor.came(1, 20);
    floor.record(RigSeen{false});
    floor.pass(10s);
    CHECK(floor.state.rig == AtRig::nobody);
    floor.ask(Ask::pause);
    floor.record(RigSeen{true});
    floor.pass(10s);
    CHECK(floor.state.rig == AtRig::nobody);
    floor.ask(Ask::go_on);
    CHECK(floor.state.rig == AtRig::called);
}

TEST_CASE("the end that the coach asks for ends the evening, with a set under way cut") {
    Floor floor({rounds(3000s), rounds(3000s)});
    floor.came(1, 20);
    floor.decide();
    floor.record(SetBegan{floor.state.session, 0});
    CHECK(floor.ask(Ask::end).kind == AnswerKind::taken);
    CHECK(floor.state.over);
    CHECK(floor.ask(Ask::note) == Answer{AnswerKind::refused, Why::over});
}

TEST_CASE("a count that is called off leaves the athlete called, and may then be passed over") {
    Floor floor({rounds(3000s)});
    for (std::uint64_t i = 1; i <= 2; ++i) floor.came(i, 20);
    floor.decide();
    const AthleteId first = floor.state.at_rig;
    floor.record(SetBegan{floor.state.session, 0});
    CHECK(floor.ask(Ask::skip) == Answer{AnswerKind::too_late, Why::set_runs});
    floor.record(CountCancelled{floor.state.session});
    CHECK(floor.state.rig == AtRig::called);
    CHECK(floor.state.at_rig == first);
    CHECK(floor.ask(Ask::skip).kind == AnswerKind::taken);
    CHECK(floor.state.at_rig != first);
}

TEST_CASE("another drill ends the session of the one before, and its sets are begun anew") {
    Block own = rounds(3000s);
    own.drill.clear();
    Floor floor({own});
    for (std::uint64_t i = 1; i <= 2; ++i) floor.came(i, 20);
    floor.decide();
    floor.do_set();  // 1
    const SessionId before = *floor.state.find(athlete(1))->session;
    const auto other = [&](std::uint64_t who, const char* drill, Possible possible = {}) {
        const Reply reply = evening::ask(floor.state, {Ask::drill, athlete(who), drill}, Hand::keyboard, floor.now,
                                         std::nullopt, possible);
        for (const Command& command : reply.commands) floor.run(command);
        floor.decide();
        return reply.answer;
    };
    CHECK(other(9, "feints") == Answer{AnswerKind::refused, Why::not_here});
    CHECK(other(1, "feints", {false, true}) == Answer{AnswerKind::refused, Why::no_such_drill});
    CHECK(other(1, "feints").kind == AnswerKind::taken);
    CHECK_FALSE(floor.state.find(athlete(1))->session.has_value());
    CHECK(floor.state.find(athlete(1))->dose.drill == "feints");
    CHECK(floor.state.find(athlete(1))->sets_done == 0);
    floor.play();
    CHECK(floor.sets.size() == 1 + 3 + 3);
    CHECK(std::count_if(floor.started.begin(), floor.started.end(), [&](const Start& start) {
              return start.athlete == athlete(1) && start.session != before;
          }) == 1);
}

TEST_CASE("a tap is refused where no set runs or no attack waits for one") {
    Floor floor({rounds(3000s)});
    floor.came(1, 20);
    CHECK(floor.ask(Ask::tap) == Answer{AnswerKind::refused, Why::no_turn});
    floor.record(SetBegan{floor.state.session, 0});
    const auto tap = [&](bool can_be) {
        return evening::ask(floor.state, {Ask::tap, {}, ""}, Hand::keyboard, floor.now, {}, {true, can_be}).answer;
    };
    CHECK(tap(false) == Answer{AnswerKind::refused, Why::not_tapped});
    CHECK(tap(true).kind == AnswerKind::taken);
}

TEST_CASE("what the partner is asked next is taken while somebody is at the rig, and refused with its reason") {
    Floor floor({rounds(3000s)});
    floor.came(1, 20);
    const auto list = [&](const char* text, Why why = Why::none) {
        return evening::ask(floor.state, {Ask::partner_next, {}, text}, Hand::desk, floor.now, {}, {true, true, why});
    };
    CHECK(list("feint").answer == Answer{AnswerKind::refused, Why::no_turn});
    floor.strike_for_task();
    floor.decide();
    REQUIRE(floor.state.rig == AtRig::called);
    CHECK(list("feint", Why::no_partner).answer == Answer{AnswerKind::refused, Why::no_partner});
    const Reply taken = list("+feint, nothing");
    CHECK(taken.answer.kind == AnswerKind::taken);
    REQUIRE(taken.commands.size() == 2);
    CHECK(std::get<AskPartner>(taken.commands[1]).list ==
          PartnerList{true, {static_cast<std::int32_t>(AttackKind::feint), asked_nothing}});
}

TEST_CASE("a list for a partner is read from its words, and no other words") {
    CHECK(partner_list_in("") == PartnerList{});
    CHECK(partner_list_in(" leg-to-hands ,single") == PartnerList{false, {4, 0}});
    for (const char* wrong : {"+", "kick", "single,", ",", "single feint", "+ +feint", "Feint"})
        CHECK_FALSE(partner_list_in(wrong));
    for (std::int32_t kind = asked_nothing; kind <= 5; ++kind)
        CHECK(partner_list_in(partner_word(kind)) == PartnerList{false, {kind}});
    CHECK(partner_word(6).empty());
}

TEST_CASE("in a block of one drill for all a drill of one's own is for a later block, or refused, and it is said") {
    Block one = rounds(3000s), own = rounds(3000s);
    own.drill.clear();
    Floor floor({one, own});
    floor.came(1, 20);
    floor.strike_for_task();
    floor.decide();
    const auto asked = [&](const char* drill) {
        const Reply reply = evening::ask(floor.state, {Ask::drill, athlete(1), drill}, Hand::desk, floor.now, {});
        for (const Command& command : reply.commands) floor.run(command);
        floor.decide();
        return reply.answer;
    };
    const SessionId session = floor.state.session;
    const std::string before = floor.state.find(athlete(1))->dose.drill;
    CHECK(asked("feints") == Answer{AnswerKind::taken, Why::one_for_all});
    CHECK(floor.state.session == session);
    CHECK(floor.state.find(athlete(1))->dose.drill == before);
    CHECK(floor.state.find(athlete(1))->drill == "feints");
    CHECK_FALSE(floor.state.find(athlete(1))->stale);
    Floor last({one});
    last.came(1, 20);
    const Answer refused =
        evening::ask(last.state, {Ask::drill, athlete(1), "feints"}, Hand::desk, last.now, {}).answer;
    CHECK(refused.kind == AnswerKind::taken);  // the block has not begun
    last.decide();
    CHECK(evening::ask(last.state, {Ask::drill, athlete(1), "feints"}, Hand::desk, last.now, {}).answer ==
          Answer{AnswerKind::refused, Why::one_for_all});
}

TEST_CASE("a block's minutes are changed while it runs or is to come, not once it is over") {
    Floor floor({rounds(600s), rounds(600s)});
    floor.came(1, 20);
    floor.decide();
    const auto minutes = [&](const char* text) {
        const Reply reply = evening::ask(floor.state, {Ask::minutes, {}, text}, Hand::desk, floor.now, {});
        for (const Command& command : reply.commands) floor.run(command);
        return reply.answer;
    };
    CHECK(minutes("1 15").kind == AnswerKind::taken);
    CHECK(floor.state.current()->length == 900s);
    CHECK(minutes("2 5").kind == AnswerKind::taken);
    CHECK(floor.state.began.blocks[1].length == 300s);
    for (const char* wrong : {"", "3 5", "0 5", "1 0", "1 241", "1", "1 5 5", "one 5", "1  5"})
        CHECK(minutes(wrong) == Answer{AnswerKind::refused, Why::no_such_block});
    floor.ask(Ask::next);
    REQUIRE(floor.state.block == 1);
    CHECK(minutes("1 15") == Answer{AnswerKind::too_late, Why::no_such_block});
    // Folded again it is the same.
    State again;
    for (const EveningRecord& entry : floor.records) fold(again, entry.event, entry.at);
    CHECK(again.began.blocks[0].length == 900s);
    CHECK(again.began.blocks[1].length == 300s);
}
