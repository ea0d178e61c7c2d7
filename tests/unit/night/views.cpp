// What is published of an evening: snapshots that never change, reps since any number, and readers who slow nobody.
#include <doctest/doctest.h>

#include <atomic>
#include <thread>

#include "devices/simulated/simulated_target.hpp"
#include "hall/drivers/fast_driver.hpp"
#include "hall/evening/evening_owner.hpp"
#include "store/memory_journal.hpp"

using namespace breakstep;
using namespace breakstep::evening;

namespace {

EveningClub small_club() {
    Drill drill;
    drill.name = drill.title = "short";
    drill.attacks = {AttackChoice{}};
    drill.sets = 2;
    drill.reps = 3;
    EveningClub club;
    club.fresh_session = [next = std::uint64_t{100}]() mutable { return SessionId{next++}; };
    club.dose = [](const Person& person, const Block&) {
        return std::optional(DoseGiven{person.athlete, "short", 3, 2, 12s, false});
    };
    club.session = [drill](AthleteId athlete, const std::string&) -> Expected<SessionBegan> {
        SessionBegan began;
        began.athlete = athlete;
        began.seed = 5;
        began.drill = drill;
        return began;
    };
    club.names = [](AthleteId, const SessionBegan&) { return SceneNames{}; };
    club.call_sign = [](AthleteId athlete) { return static_cast<std::uint64_t>(athlete) == 1 ? "Heron" : "Curlew"; };
    return club;
}

struct Read {
    std::uint64_t last_view = 0, last_rep = 0;
    bool in_order = true;
};

void read_on(const EveningOwner& owner, const std::atomic<bool>& over, Read& read) {
    for (bool last = false; !last;) {
        last = over;  // once more after the end
        const auto view = owner.view();
        read.in_order = read.in_order && view->number >= read.last_view;
        read.last_view = view->number;
        for (const RepSeen& rep : owner.reps_since(read.last_rep)) {
            read.in_order = read.in_order && rep.number == read.last_rep + 1;
            read.last_rep = rep.number;
        }
    }
}

struct Played {
    std::string journal;
    std::uint64_t views = 0, reps = 0;
    std::vector<Read> readers;
};

Played play(int readers) {
    constexpr HostTime begin{1s};
    SimulatedTarget target(simulated_target_settings(3), begin);
    VirtualCues cues(nullptr, begin);
    MemoryJournal journal;
    FastDriver driver(EngineSettings{}, target, journal, cues, nullptr, begin);
    target.set_athlete(begin, AthleteSettings{*find_athlete("Heron"), {}, 7});
    EveningOwner owner(small_club(), driver.core(), journal);
    driver.pass(5s);
    Played played;
    played.readers.resize(static_cast<std::size_t>(readers));
    std::atomic<bool> over{false};
    std::vector<std::thread> threads;
    for (Read& read : played.readers) threads.emplace_back([&] { read_on(owner, over, read); });
    owner.begin({EveningId{9}, 0, 1, {{BlockKind::rounds, 240s, "rounds", Who::all, "short"}}}, driver.now());
    owner.came({AthleteId{1}, 30, 0, ""}, driver.now());
    owner.came({AthleteId{2}, 30, 0, ""}, driver.now());
    HostTime next_blow{};
    while (!owner.over() && driver.now() < begin + 600s) {
        owner.poll(driver.now());
        if (owner.state().rig == AtRig::nobody && driver.now() >= next_blow) {
            next_blow = driver.now() + 4s;
            target.rig().strike(driver.now(), PadRole::low_left, 0.4);
        }
        driver.advance(driver.now() + 200ms);
    }
    CHECK(owner.over());
    over = true;
    for (std::thread& each : threads) each.join();
    for (const EveningRecord& record : owner.records()) encode(record.event, played.journal);
    played.views = owner.view()->number;
    played.reps = owner.reps_since(0).size();
    return played;
}

}  // namespace

TEST_CASE("however many read, the evening is the same to the byte, and each reader gets all of it in order") {
    const Played alone = play(0), watched = play(6);
    CHECK(alone.reps >= 12);
    CHECK(watched.journal == alone.journal);
    CHECK(watched.reps == alone.reps);
    CHECK(watched.views == alone.views);
    for (const Read& read : watched.readers) {
        CHECK(read.in_order);
        CHECK(read.last_view == watched.views);
        CHECK(read.last_rep == watched.reps);
    }
}

TEST_CASE("a snapshot that is kept does not change, and a number beyond all reps gives none") {
    EveningView first;
    first.number = 1;
    EveningView second = first;
    second.number = 2;
    CHECK(first.same(second));
    second.at_rig = "Heron";
    CHECK_FALSE(first.same(second));
    CHECK(words_of({AnswerKind::taken, Why::none}) == "taken");
    CHECK(words_of({AnswerKind::refused, Why::void_so}) == "refused: it is void already");
    CHECK(words_of({AnswerKind::too_late, Why::set_runs}) == "too late: the set has begun");
}
