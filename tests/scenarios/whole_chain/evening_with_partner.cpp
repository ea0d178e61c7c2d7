// An evening with a partner on the whole chain of bytes: who kicks, what the partner is told, athlete and partner
// swapped by mistake; and a rig whose partner's gates are not there, or go dark.
#include <doctest/doctest.h>

#include <algorithm>
#include <map>
#include <set>

#include "devices/simulated/simulated_target.hpp"
#include "hall/drivers/fast_driver.hpp"
#include "hall/evening/evening_owner.hpp"
#include "hall/evening/moved_set.hpp"
#include "settings/drill_file.hpp"
#include "store/memory_journal.hpp"

using namespace breakstep;
using namespace breakstep::evening;

namespace {

constexpr HostTime begin{1s};
constexpr AthleteId heron{11}, curlew{12}, dunlin{13};

const char* name_of(AthleteId id) {
    return id == heron ? "Heron" : id == curlew ? "Curlew" : id == dunlin ? "Dunlin" : "";
}

Drill kicks() {
    auto drill = load_drill("partner-kicks", Settings{});
    REQUIRE(drill.has_value());
    drill->reps = 6;
    drill->sets = 1;
    drill->rest = 5s;
    return *drill;
}

/// A hall of three: Heron and Curlew of one height, Dunlin taller.
struct Hall {
    explicit Hall(SimulatedTargetSettings settings = for_a_partner(simulated_target_settings(5)), std::int32_t sets = 1,
                  bool leads_to_edge = false)
        : target(settings, begin),
          cues(nullptr, begin),
          driver(EngineSettings{}, target, journal, cues, nullptr, begin) {
        EveningClub club;
        club.fresh_session = [this] { return SessionId{++sessions}; };
        club.dose = [sets](const Person& person, const Block& block) {
            return DoseGiven{person.athlete, block.drill, 6, sets, 40s, false};
        };
        club.session = [](AthleteId athlete, const std::string&) -> Expected<SessionBegan> {
            SessionBegan began;
            began.athlete = athlete;
            began.athlete_lead = athlete == heron ? Side::left : Side::right;
            began.seed = static_cast<std::uint64_t>(athlete);
            began.drill = kicks();
            return began;
        };
        club.names = [](AthleteId, const SessionBegan&) { return SceneNames{}; };
        club.call_sign = [](AthleteId athlete) { return std::string(name_of(athlete)); };
        club.with_partner = [](const std::string&) { return true; };
        club.leads_to_edge = [leads_to_edge](const std::string&) { return leads_to_edge; };
        owner.emplace(std::move(club), driver.core(), journal);
        owner->on_record = [this](const EveningRecord& record) { saw(record); };
        EveningBegan night;
        night.evening = EveningId{77};
        night.blocks = {{BlockKind::rounds, 1200s, "pairs", Who::all, "partner-kicks"}};
        owner->begin(night, driver.now());
        for (const auto& [athlete, height] : {std::pair{heron, 1}, {curlew, 1}, {dunlin, 2}})
            owner->came({athlete, 20, height, ""}, driver.now());
    }

    void saw(const EveningRecord& record) {
        if (std::holds_alternative<TurnCalled>(record.event)) called = true;
    }
    /// Until `done`, for five minutes at most.
    template <class Done>
    bool pass_until(Done done) {
        const HostTime last = driver.now() + 300s;
        while (driver.now() < last) {
            driver.advance(std::min(last, driver.now() + 50ms));
            owner->poll(driver.now());
            if (std::exchange(called, false)) {
                const Drill drill = kicks();
                target.set_athlete(driver.now(), {*find_athlete("Heron"), drill.attacks, 3});
                PartnerSettings leg;
                leg.seed = 9;
                leg.lengths = drill.opponent;
                target.set_partner(driver.now(), leg);
            }
            if (const auto& cue = owner->view()->partner_cue) seen.insert(cue->partner + ": " + cue->what);
            if (done()) return true;
        }
        return false;
    }

    std::uint64_t sessions = 0;
    MemoryJournal journal;
    SimulatedTarget target;
    VirtualCues cues;
    FastDriver driver;
    std::optional<EveningOwner> owner;
    std::set<std::string> seen;  ///< what stood where the partner alone looks
    bool called = false;
};

Score folded(const std::vector<JournalRecord>& records) {
    Score score;
    std::vector<ScoreResult> ignored;
    for (const JournalRecord& record : records) score.fold(record, ignored);
    return score;
}

const SessionBegan& began_of(const std::vector<JournalRecord>& records) {
    return std::get<SessionBegan>(records.front().event);
}

}  // namespace

TEST_CASE(
    "one of the same height kicks, is told what to do, and a set of the wrong one of the two is put right for both") {
    Hall hall;
    REQUIRE(hall.pass_until([&] { return hall.owner->state().rig == AtRig::running; }));
    const SessionId first = hall.owner->state().session;
    REQUIRE(hall.owner->view()->task.has_value());
    CHECK(hall.owner->view()->task->athlete == "Heron");
    CHECK(hall.owner->view()->task->partner == "Curlew");

    bool said_in_the_set = false;
    SUBCASE("said in the set") {
        CHECK(hall.owner->ask({Ask::someone_else, curlew, ""}, Hand::desk, hall.driver.now()).kind ==
              AnswerKind::taken);
        said_in_the_set = true;
    }
    SUBCASE("said after the set") {}
    REQUIRE(hall.pass_until([&] { return hall.owner->state().rig == AtRig::nobody; }));
    if (!said_in_the_set)
        CHECK(hall.owner->ask({Ask::someone_else, curlew, ""}, Hand::desk, hall.driver.now()).kind ==
              AnswerKind::taken);

    CHECK(hall.seen.size() >= 2);
    // Once it is said who answers, the other one is in the box.
    const char* in_the_box = said_in_the_set ? "Heron: a " : "Curlew: a ";
    for (const std::string& words : hall.seen) CHECK_MESSAGE(words.starts_with(in_the_box), words);

    const auto& journals = hall.journal.sessions();
    const auto& before = journals.at(first).records;
    CHECK(began_of(before).athlete == heron);
    CHECK(began_of(before).participants == std::vector<Participant>{{ParticipantRole::athlete, heron, Side::left},
                                                                    {ParticipantRole::partner, curlew, Side::right}});
    const auto moved = std::find_if(journals.begin(), journals.end(), [&](const auto& one) {
        return one.first != first && !one.second.records.empty() && began_of(one.second.records).athlete == curlew;
    });
    REQUIRE(moved != journals.end());
    // Each of the two is now where they truly stood.
    CHECK(began_of(moved->second.records).participants ==
          std::vector<Participant>{{ParticipantRole::athlete, curlew, Side::right},
                                   {ParticipantRole::partner, heron, Side::left}});
    const Score wrong = folded(before), right = folded(moved->second.records);
    REQUIRE(right.reps().size() == wrong.reps().size());
    REQUIRE(right.reps().size() >= 6);
    int counted = 0;
    for (std::size_t i = 0; i < right.reps().size(); ++i) {
        CHECK(wrong.reps()[i].void_reason == VoidReason::other_athlete);
        // What the leg did is told as it was; whose it was is who took part.
        CHECK(right.reps()[i].came == wrong.reps()[i].came);
        CHECK(right.reps()[i].void_reason != VoidReason::other_athlete);
        counted += right.reps()[i].verdict != Verdict::void_rep ? 1 : 0;
    }
    CHECK(counted >= 4);
    CHECK(hall.owner->state().find(heron)->sets_done == 0);
    CHECK(hall.owner->state().find(curlew)->sets_done == 1);
}

TEST_CASE("a third one's set leaves the partner where they stood") {
    SessionBegan began;
    began.athlete = heron;
    began.athlete_lead = Side::left;
    CHECK(participants_after(began, dunlin, Side::right).empty());
    began.participants = {{ParticipantRole::athlete, heron, Side::left},
                          {ParticipantRole::partner, curlew, Side::right}};
    CHECK(participants_after(began, dunlin, Side::right) ==
          std::vector<Participant>{{ParticipantRole::athlete, dunlin, Side::right},
                                   {ParticipantRole::partner, curlew, Side::right}});
    // Whose name could not be written down stays nobody.
    began.participants[1].athlete = AthleteId{};
    CHECK(participants_after(began, curlew, Side::right)[1].athlete == AthleteId{});
}

TEST_CASE("who kicks: of one height, child with child, whoever is not next, nobody alone") {
    State state;
    const auto person = [&state](std::uint64_t id, std::int32_t age, std::int32_t height) {
        Person one;
        one.athlete = AthleteId{id};
        one.age = age;
        one.height_order = height;
        state.people.push_back(one);
    };
    person(1, 20, 1);
    CHECK_FALSE(partner_for(state, AthleteId{1}));
    person(2, 10, 1);
    CHECK(partner_for(state, AthleteId{1}) == AthleteId{2});
    person(3, 20, 3);
    CHECK(partner_for(state, AthleteId{1}) == AthleteId{3});
    person(4, 20, 2);
    CHECK(partner_for(state, AthleteId{1}) == AthleteId{4});
    person(5, 20, 1);
    CHECK(partner_for(state, AthleteId{1}) == AthleteId{5});
    state.people.back().sore = true;
    CHECK(partner_for(state, AthleteId{1}) == AthleteId{4});
    CHECK_FALSE(partner_for(state, AthleteId{9}));
}

TEST_CASE("without the partner's gates it is said what to put up, the session ends at once, and the evening goes on") {
    SimulatedTargetSettings settings = for_a_partner(simulated_target_settings(5));
    std::erase(settings.rig.gates, GateRole::low);
    std::erase(settings.rig.gates, GateRole::hip);
    Hall hall(settings);
    std::string to_move;
    REQUIRE(hall.pass_until([&] {
        if (!hall.owner->view()->gates_to_move.empty()) to_move = hall.owner->view()->gates_to_move;
        const auto& records = hall.owner->records();
        return std::any_of(records.begin(), records.end(), [](const EveningRecord& record) {
            return std::holds_alternative<SessionOver>(record.event);
        });
    }));
    CHECK(to_move.find("low and hip gate") != std::string::npos);
    for (const EveningRecord& record : hall.owner->records())
        if (const auto* over = std::get_if<SessionOver>(&record.event))
            CHECK(over->how == SessionEnd::no_partner_gates);
    CHECK_FALSE(hall.owner->over());
}

TEST_CASE("before a drill of the edge it is said that its gate is to be put up, on a rig that has none") {
    const auto said = [](bool has_it, bool leads_to_edge) {
        SimulatedTargetSettings settings = for_a_partner(simulated_target_settings(5));
        if (!has_it) std::erase(settings.rig.gates, GateRole::partner_back_mark);
        Hall hall(settings, 1, leads_to_edge);
        std::string to_move;
        REQUIRE(hall.pass_until([&] {
            to_move += hall.owner->view()->gates_to_move;
            return hall.owner->state().rig == AtRig::running;
        }));
        return to_move.find("across the back of the partner's box") != std::string::npos;
    };
    CHECK(said(false, true));
    CHECK_FALSE(said(true, true));
    CHECK_FALSE(said(false, false));
}

TEST_CASE("a low gate torn off in a set: it is said, nothing of before is lost, and the session ends after a minute") {
    SimulatedTarget target(for_a_partner(simulated_target_settings(5)), begin);
    VirtualCues cues(nullptr, begin);
    MemoryJournal journal;
    FastDriver driver(EngineSettings{}, target, journal, cues, nullptr, begin);
    std::vector<HealthNotice> said;
    driver.core().on_health = [&said](const HealthNotice& notice) { said.push_back(notice); };
    Drill drill = kicks();
    drill.reps = 20;
    SessionBegan session;
    session.session = SessionId{1};
    session.athlete = heron;
    session.drill = drill;
    target.set_athlete(driver.now(), {*find_athlete("Heron"), drill.attacks, 3});
    PartnerSettings leg;
    leg.seed = 9;
    leg.lengths = drill.opponent;
    target.set_partner(driver.now(), leg);
    driver.core().start(session, {}, driver.now());
    std::size_t before = 0;
    std::optional<HostTime> torn;
    const HostTime last = driver.now() + 600s;
    while (!driver.core().session_end() && driver.now() < last) {
        driver.advance(driver.now() + 50ms);
        const Score* score = driver.core().engine().score();
        if (torn || score == nullptr || score->reps().size() < 5) continue;
        torn = driver.now();
        before = score->reps().size();
        target.rig().block_gate(driver.now(), GateRole::low, true);
    }
    REQUIRE(torn.has_value());
    REQUIRE(driver.core().session_end() == SessionEnd::no_partner_gates);
    CHECK(driver.now() - *torn < 120s);
    const Score& score = *driver.core().engine().score();
    REQUIRE(score.reps().size() >= before);
    std::size_t whole = 0;
    for (std::size_t i = 0; i < before; ++i) whole += score.reps()[i].verdict != Verdict::void_rep ? 1 : 0;
    CHECK(whole >= 3);
    const Score again = folded(journal.sessions().at(SessionId{1}).records);
    CHECK(again.reps() == score.reps());
    CHECK(std::any_of(said.begin(), said.end(), [](const HealthNotice& notice) {
        return notice.to_do.find("low and the hip gate") != std::string::npos;
    }));
}

TEST_CASE("void last reaches the newest rep that was told, whoever made it, and what became of it is told at once") {
    Hall hall(for_a_partner(simulated_target_settings(5)), 2);
    const auto newest = [&] {
        const auto reps = hall.owner->reps_since(0);
        const auto last = std::find_if(reps.rbegin(), reps.rend(),
                                       [](const RepSeen& seen) { return !seen.first && !seen.result.catch_trial; });
        REQUIRE(last != reps.rend());
        return *last;
    };
    const auto taken = [&](Ask what) {
        return hall.owner->ask({what, AthleteId{}, ""}, Hand::desk, hall.driver.now()).kind == AnswerKind::taken;
    };
    REQUIRE(hall.pass_until([&] { return hall.owner->state().rig == AtRig::running; }));
    REQUIRE(hall.pass_until([&] { return hall.owner->state().rig == AtRig::nobody; }));
    const RepSeen made = newest();
    REQUIRE(made.result.void_reason == VoidReason::none);
    CHECK(taken(Ask::void_last));
    CHECK(newest().session == made.session);
    CHECK(newest().result.rep == made.result.rep);
    CHECK(newest().result.void_reason == VoidReason::coach);
    CHECK(taken(Ask::take_back));
    CHECK(newest().result == made.result);
    // Somebody else's set runs, and holds no rep yet. A strike brings who is next.
    hall.pass_until([start = hall.driver.now(), &hall] { return hall.driver.now() > start + 10s; });
    hall.target.rig().strike(hall.driver.now() + 100ms, PadRole::low_right, 0.4);
    REQUIRE(hall.pass_until([&] { return hall.owner->state().rig == AtRig::running; }));
    REQUIRE(hall.owner->state().session != made.session);
    CHECK(taken(Ask::void_last));
    CHECK(newest().session == made.session);
    CHECK(newest().result.rep == made.result.rep);
    CHECK(newest().result.void_reason == VoidReason::coach);
}

TEST_CASE("of whose turn is over no rep can be made void, and nobody else's is in its place") {
    Hall hall;
    REQUIRE(hall.pass_until([&] { return hall.owner->state().rig == AtRig::running; }));
    REQUIRE(hall.pass_until([&] { return hall.owner->state().rig == AtRig::nobody; }));
    hall.pass_until([start = hall.driver.now(), &hall] { return hall.driver.now() > start + 10s; });
    hall.target.rig().strike(hall.driver.now() + 100ms, PadRole::low_right, 0.4);
    REQUIRE(hall.pass_until([&] { return hall.owner->state().rig == AtRig::running; }));
    const auto before = hall.owner->reps_since(0).size();
    const Answer answer = hall.owner->ask({Ask::void_last, AthleteId{}, ""}, Hand::desk, hall.driver.now());
    CHECK(answer == Answer{AnswerKind::refused, Why::no_rep});
    CHECK(hall.owner->reps_since(0).size() == before);
}
