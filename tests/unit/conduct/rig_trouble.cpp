// What a set does while its rig is away, starts anew, or does not show what it was told to.
#include <algorithm>
#include <set>

#include <doctest/doctest.h>

#include "unit/conduct/conduct_bench.hpp"

using namespace breakstep;
using testing::ConductBench;

namespace {

SessionBegan short_session(StartKind start = StartKind::random, std::int32_t reps = 5) {
    SessionBegan session;
    session.session = SessionId{1};
    session.seed = 11;
    session.rules = rules_of_today;
    session.drill.name = "short";
    session.drill.start = start;
    session.drill.sets = 1;
    session.drill.reps = reps;
    session.drill.wait_minimum = 500ms;
    session.drill.wait_extra = 300ms;
    AttackChoice single;
    session.drill.attacks = {single};
    session.drill.pattern = {{0, 700ms}};
    return session;
}

std::vector<VoidReason> voids_of(const ConductBench& bench) {
    std::vector<VoidReason> reasons;
    for (const RepResult& rep : bench.score().reps())
        if (rep.verdict == Verdict::void_rep) reasons.push_back(rep.void_reason);
    return reasons;
}

std::set<std::int32_t> numbers_that_count(const ConductBench& bench) {
    std::set<std::int32_t> numbers;
    for (const RepResult& rep : bench.score().reps())
        if (rep.verdict != Verdict::void_rep && !rep.catch_trial) CHECK(numbers.insert(rep.number).second);
    return numbers;
}
const std::set<std::int32_t> all_five{1, 2, 3, 4, 5};

// Loses the rig in the middle of the second attack.
template <class Trouble>
void play_with(ConductBench& bench, Trouble trouble) {
    bool done = false;
    bench.play_set([&](ConductBench& each) {
        if (done || each.count<RepOpened>() < 2) return;
        if (each.rig_now() < each.all<RepOpened>()[1].onset + 50ms) return;
        done = true;
        trouble(each);
    });
    CHECK(done);
}

}  // namespace

TEST_CASE("a set whose rig answers gives every rep as planned") {
    ConductBench bench(short_session());
    bench.connect();
    bench.play_set();
    CHECK(numbers_that_count(bench) == all_five);
    CHECK(bench.count<SetPlanned>() == 1);
    CHECK(bench.conduct().how_it_ended() == SessionEnd::finished);
}

TEST_CASE("silent lamps make two reps void, say so, and sound cues the whole set") {
    ConductBench bench(short_session(), {true, false});
    bench.connect();
    bench.lamps = ConductBench::Lamps::silent;
    bench.play_set();
    for (const VoidReason reason : voids_of(bench)) CHECK(reason == VoidReason::lamps_silent);
    CHECK(voids_of(bench).size() >= 2);
    CHECK(voids_of(bench).size() <= 3);  // a third may have been opened already
    REQUIRE(bench.count<CueSourceChanged>() == 1);
    CHECK(bench.all<CueSourceChanged>()[0].source == OnsetSource::sound);
    CHECK(numbers_that_count(bench) == all_five);
    CHECK(bench.all<SetPlanned>().back().reason == RedrawReason::lamps_silent);
}

TEST_CASE("silent lamps and nothing else that could cue end the session, which says so") {
    ConductBench bench(short_session());
    bench.connect();
    bench.lamps = ConductBench::Lamps::silent;
    bench.play_set();
    CHECK(bench.conduct().how_it_ended() == SessionEnd::cannot_cue);
    CHECK(numbers_that_count(bench).empty());
}

TEST_CASE("a rig without lamps does not start a drill that nothing else can cue") {
    ConductBench bench(short_session());
    bench.connect(1, false);
    CHECK(bench.conduct().how_it_ended() == SessionEnd::cannot_cue);
    CHECK(bench.count<RepOpened>() == 0);
}

TEST_CASE("lamps 21 ms off their plan make their rep void, 19 ms do not") {
    for (const Duration late : {19ms, 21ms}) {
        ConductBench bench(short_session(), {true, false});
        bench.connect();
        bench.lamps_late = late;
        bench.play_set();
        CAPTURE(late.count());
        CHECK(voids_of(bench).empty() == (late == Duration(19ms)));
        for (const VoidReason reason : voids_of(bench)) CHECK(reason == VoidReason::cue_late);
        // They answer, so they are not left; what is late again and again is not given without end.
        CHECK(bench.count<CueSourceChanged>() == 0);
        CHECK(bench.conduct().how_it_ended() == SessionEnd::finished);
        CHECK(voids_of(bench).size() == (late == Duration(19ms) ? 0 : 10));
    }
}

TEST_CASE("a set waits while its rig is away and no rep is used up") {
    ConductBench bench(short_session());
    bench.connect();
    play_with(bench, [](ConductBench& each) {
        each.lose(VoidReason::link_lost);
        each.pass(20s);
        each.connect();
    });
    CHECK(numbers_that_count(bench) == all_five);
    // Lamps that lit meanwhile are told later; here they were not, so the one rep under way is void.
    CHECK(voids_of(bench).size() <= 2);
    CHECK(bench.all<SetPlanned>().back().reason == RedrawReason::rig_back);
}

TEST_CASE("after a reset what was open is void and given again") {
    ConductBench bench(short_session());
    bench.connect();
    play_with(bench, [](ConductBench& each) {
        each.lose(VoidReason::board_reset);
        each.pass(2s);
        each.connect(2);
    });
    CHECK(numbers_that_count(bench) == all_five);
    CHECK_FALSE(voids_of(bench).empty());
    for (const VoidReason reason : voids_of(bench)) CHECK(reason == VoidReason::board_reset);
}

TEST_CASE("a set waits while the rig's time is not sure enough, and uses up no rep") {
    ConductBench bench(short_session());
    bench.connect();
    play_with(bench, [](ConductBench& each) {
        each.bound(2ms);
        each.pass(10s);
        CHECK(each.conduct().scene().trouble == VoidReason::bound_too_wide);
        each.bound(100us);
        CHECK_FALSE(each.conduct().scene().trouble);
    });
    CHECK(voids_of(bench).empty());
    CHECK(numbers_that_count(bench) == all_five);
    CHECK(bench.all<SetPlanned>().back().reason == RedrawReason::bound_wide);
}

TEST_CASE("a rig that is away for a minute ends the session") {
    ConductBench bench(short_session());
    bench.connect();
    play_with(bench, [](ConductBench& each) {
        each.lose(VoidReason::link_lost);
        each.pass(59s);
        CHECK_FALSE(each.conduct().done());
        each.pass(2s);
    });
    CHECK(bench.conduct().how_it_ended() == SessionEnd::rig_gone);
}

TEST_CASE("a computer that slept redraws with that reason and cues nothing late") {
    ConductBench bench(short_session());
    bench.connect();
    bool slept = false;
    bench.play_set([&](ConductBench& each) {
        if (slept || each.count<RepClosed>() < 1) return;
        slept = true;
        each.sleep(5s);
    });
    REQUIRE(slept);
    const auto plans = bench.all<SetPlanned>();
    CHECK(std::any_of(plans.begin(), plans.end(),
                      [](const SetPlanned& plan) { return plan.reason == RedrawReason::host_late; }));
    CHECK(numbers_that_count(bench) == all_five);
}

TEST_CASE("a blow at a void attack stays with it and is never the next rep's") {
    ConductBench bench(short_session());
    bench.connect();
    play_with(bench, [](ConductBench& each) {
        each.lose(VoidReason::clock_jump);
        each.strike();  // the attack that was shown is void now
        each.pass(200ms);
        each.strike();
        each.bound(100us);
        each.connect();
    });
    REQUIRE_FALSE(voids_of(bench).empty());
    std::size_t kept = 0;
    for (const RepResult& rep : bench.score().reps()) {
        if (rep.verdict == Verdict::void_rep)
            kept += rep.later_contacts.size();
        else
            CHECK_FALSE(rep.latency);
    }
    CHECK(kept == 2);
    CHECK(numbers_that_count(bench) == all_five);
}

TEST_CASE("the lamp that says to start is ordered again when it came too late") {
    ConductBench bench(short_session());
    bench.lamps = ConductBench::Lamps::refuse;
    bench.connect();
    const std::size_t refused = bench.count<LampsRefused>();
    CHECK(refused == 10);
    bench.lamps = ConductBench::Lamps::answer;
}

TEST_CASE("each close is preceded by the clock's rate, and latencies are seconds") {
    ConductBench slow(short_session()), exact(short_session());
    for (ConductBench* bench : {&slow, &exact}) {
        bench->ppb = bench == &slow ? 9'000'000 : 0;
        bench->connect();
        bool struck = false;
        bench->play_set([&](ConductBench& each) {
            const auto opened = each.all<RepOpened>();
            if (struck || opened.empty() || each.rig_now() < opened[0].onset + 400ms) return;
            struck = true;
            each.strike();
        });
    }
    CHECK(slow.count<ClockRate>() == slow.count<RepClosed>());
    const RepResult &fast_rep = exact.score().reps()[0], &slow_rep = slow.score().reps()[0];
    REQUIRE(fast_rep.latency);
    REQUIRE(slow_rep.latency);
    const double ratio = static_cast<double>(slow_rep.contact_from_onset->count()) /
                         static_cast<double>(fast_rep.contact_from_onset->count());
    CHECK(ratio == doctest::Approx(1.009).epsilon(1e-7));
    CHECK(slow_rep.verdict == fast_rep.verdict);
    CHECK(slow.score().totals().clock_rate_ppm == doctest::Approx(9'000));
    CHECK(slow_rep.uncertainty >= fast_rep.uncertainty);
}
