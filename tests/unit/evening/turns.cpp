// The evening fold alone: whose turn it is, what a rest is, how blocks follow each other. A plain loop stands for the
// hall: whoever is called strikes after a while, and the set takes its time.
#include <algorithm>
#include <map>

#include <doctest/doctest.h>

#include "core/evening/evening.hpp"
#include "core/evening/forecast.hpp"
#include "core/trade/junior.hpp"

using namespace breakstep;
using namespace breakstep::evening;

namespace {

constexpr AthleteId athlete(std::uint64_t number) { return AthleteId{number}; }

struct SetMade {
    AthleteId by{};
    EveningTime count{}, end{};
};

// Carries out what the fold decides, with sessions that always work.
struct Floor {
    State state;
    std::vector<EveningRecord> records;
    std::vector<SetMade> sets;
    std::vector<Start> started;
    std::map<SessionId, std::int32_t> next_set, sets_of;
    EveningTime now{};
    std::uint64_t next_id = 1000;
    Duration change = 8s, work = 35s;
    std::int32_t dose_sets = 3;

    void record(EveningEvent event) {
        records.push_back({static_cast<std::int64_t>(records.size()), now, event});
        fold(state, event, now);
    }
    explicit Floor(std::vector<Block> blocks) { record(EveningBegan{EveningId{5}, 0, 1, std::move(blocks)}); }
    void came(std::uint64_t number, std::int32_t age) { record(AthleteCame{athlete(number), age, 0}); }
    void give(AthleteId who) {
        const Person* one = state.find(who);
        const Dose dose = dose_for(one->age, {10, dose_sets});
        record(DoseGiven{who, one->drill.empty() ? "any" : one->drill, dose.reps, dose.sets, work, false});
    }
    void run(const Command& command) {
        if (const auto* wanted = std::get_if<Record>(&command)) record(wanted->event);
        if (const auto* wanted = std::get_if<Start>(&command)) {
            started.push_back(*wanted);
            sets_of[wanted->session] = wanted->sets_left;
            ++next_id;
        }
        if (std::holds_alternative<StandAside>(command)) record(StoodAside{state.session});
        if (const auto* wanted = std::get_if<End>(&command)) record(SessionOver{wanted->session, SessionEnd::stopped});
        if (const auto* wanted = std::get_if<GiveDose>(&command)) give(wanted->athlete);
        if (std::holds_alternative<GiveDoses>(command))
            for (std::size_t i = 0; i < state.people.size(); ++i) give(state.people[i].athlete);
    }
    void decide() {
        for (auto commands = next_step(state, now, SessionId{next_id}); !commands.empty();
             commands = next_step(state, now, SessionId{next_id}))
            for (const Command& command : commands) run(command);
    }
    Answer ask(Ask what, std::uint64_t who = 0, std::optional<bool> last_void = std::nullopt) {
        const Reply reply = evening::ask(state, {what, athlete(who), ""}, Hand::keyboard, now, last_void);
        for (const Command& command : reply.commands) run(command);
        decide();
        return reply.answer;
    }
    void pass(Duration time) {
        now += time;
        decide();
    }
    void strike_for_task() {
        std::string bytes;
        record(KeptOutside{256 + PadHit::kind, bytes});
        decide();
    }
    // Whoever is called does the set.
    void do_set() {
        REQUIRE(state.rig == AtRig::called);
        const SessionId session = state.session;
        const std::int32_t set = next_set[session]++;
        record(SetBegan{session, set});
        const EveningTime count = now;
        now += work;
        const AthleteId by = state.made_by.value_or(state.at_rig);
        record(SetDone{session, set, work});
        sets.push_back({by, count, now});
        now += 350ms;
        if (next_set[session] >= sets_of[session])
            record(SessionOver{session, SessionEnd::finished});
        else
            record(StoodAside{session});
        decide();
    }
    // The evening by itself to its end.
    void play() {
        decide();
        for (int i = 0; i < 5000 && !state.over; ++i) {
            if (state.rig == AtRig::called) {
                pass(change);
                if (state.rig == AtRig::called) do_set();
            } else if (!state.summoned && state.current() != nullptr && state.current()->kind == BlockKind::rounds) {
                pass(3s);
                if (state.rig == AtRig::nobody && !state.over) strike_for_task();
            } else {
                const auto due = next_due(state);
                pass(due && *due > now ? *due - now : 1s);
            }
        }
        CHECK(state.over);
    }
};

Block rounds(Duration length, Who who = Who::all) { return {BlockKind::rounds, length, "rounds", who, "any"}; }

}  // namespace

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

TEST_CASE("juniors' rounds call juniors, adults' rounds adults") {
    Floor floor({rounds(2000s, Who::juniors), rounds(2000s, Who::adults)});
    floor.came(1, 12);
    floor.came(2, 40);
    floor.came(3, 0);  // not known: an adult
    floor.play();
    std::map<AthleteId, int> sets;
    for (const SetMade& set : floor.sets) ++sets[set.by];
    CHECK(sets[athlete(1)] == 3);
    CHECK(sets[athlete(2)] == 3);
    CHECK(sets[athlete(3)] == 3);
    CHECK(floor.sets.front().by == athlete(1));
}

TEST_CASE("children get the dose of their age, adults what the drill asks") {
    CHECK(dose_for(8, {10, 5}) == Dose{6, 3});
    CHECK(dose_for(13, {10, 5}) == Dose{8, 3});
    CHECK(dose_for(14, {12, 5}) == Dose{10, 4});
    CHECK(dose_for(15, {12, 5}) == Dose{12, 5});
    CHECK(dose_for(0, {12, 5}) == Dose{12, 5});
    CHECK(dose_for(9, {4, 1}) == Dose{4, 1});
    CHECK(rest_after(40s, 20) == 60s);
    CHECK(rest_after(40s, 14) == 160s);
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

TEST_CASE("the end that the coach asks for ends the evening, with a set under way cut") {
    Floor floor({rounds(3000s), rounds(3000s)});
    floor.came(1, 20);
    floor.decide();
    floor.record(SetBegan{floor.state.session, 0});
    CHECK(floor.ask(Ask::end).kind == AnswerKind::taken);
    CHECK(floor.state.over);
    CHECK(floor.ask(Ask::note) == Answer{AnswerKind::refused, Why::over});
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

TEST_CASE("what a block takes is told beforehand, and how much of it fits") {
    Floor floor({rounds(600s)});
    for (std::uint64_t i = 1; i <= 5; ++i) floor.came(i, 20);
    floor.decide();
    const Fit fit = fit_of(floor.state, floor.state.began.blocks[0]);
    CHECK(fit.sets == 15);
    CHECK(fit.needed == 15 * (35s + change_time));
    CHECK(fit.sets_that_fit() == 12);
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

TEST_CASE("in a block of one drill for all a drill of one's own is for a later block, or refused; and it is said") {
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

TEST_CASE("heights stand in order, so that gates move once") {
    Floor floor({rounds(6000s)});
    for (std::uint64_t i = 1; i <= 10; ++i) floor.record(AthleteCame{athlete(i), 20, i % 2 == 0 ? 1 : 2});
    floor.play();
    std::int32_t moves = 0, gates = 0;
    for (const SetMade& set : floor.sets) {
        const std::int32_t order = floor.state.find(set.by)->height_order;
        if (gates != 0 && order != gates) ++moves;
        gates = order;
    }
    CHECK(floor.sets.size() == 30);
    CHECK(moves == 1);
}

TEST_CASE("a forecast plays the block beforehand: what it needs with all rests, and what fits") {
    const auto dose = [](const Person& person, const Block& block) -> std::optional<DoseGiven> {
        return DoseGiven{person.athlete, "any", 10, block.sets, 35s, false};
    };
    std::vector<AthleteCame> five;
    for (std::uint64_t i = 1; i <= 5; ++i) five.push_back({athlete(i), 20, 0, ""});
    Block block = rounds(750s);
    block.sets = 3;
    const Forecast whole = forecast(five, block, dose);
    CHECK(whole.athletes == 5);
    CHECK(whole.sets == 15);
    CHECK(whole.needed == 15 * (35s + change_time));
    CHECK(whole.fits());
    block.length = 500s;
    const Forecast part = forecast(five, block, dose);
    CHECK_FALSE(part.fits());
    CHECK(part.sets_that_fit == 10);
    // One child alone rests four times its work.
    block.length = 1200s;
    const Forecast alone = forecast({{athlete(1), 9, 0, ""}}, block, dose);
    CHECK(alone.needed >= 3 * 35s + 2 * 140s);
    CHECK(forecast(five, {BlockKind::hall, 600s, "drink", Who::all, ""}, dose).sets == 0);
}
