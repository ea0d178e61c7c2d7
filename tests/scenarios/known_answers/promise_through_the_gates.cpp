// The reading's promise through everything that lies before it: plans, attacks, counters, gates, voids. Athletes whose
// own entries are unpredictable are told in at most 5 % of their sessions; a metronome is caught. (Two passes of a gate
// are at least 250 ms apart, so that the free athletes' shortest interval lies a little above the r of their in-times:
// slightly outside what the promise covers, and still far under 5 %.)
#include <algorithm>

#include <doctest/doctest.h>

#include "core/random.hpp"
#include "support/journal_script.hpp"

using namespace breakstep;
using namespace breakstep::testing;

namespace {

const std::vector<AttackPhase> single{{Phase::lift, false, 110ms},
                                      {Phase::up, false, 170ms},
                                      {Phase::pull_back, false, 140ms},
                                      {Phase::drop, false, 130ms},
                                      {Phase::gap, false, 150ms}};
constexpr Duration attack_length = 700ms;

Duration seconds(double value) { return Duration(static_cast<std::int64_t>(value * 1e9)); }

// One set of `reps` random attacks. The athlete steps in and out by `next_interval`, and answers every attack in its
// drop whatever the rhythm: a counter is an entry too.
template <class Interval>
SessionTotals play(std::uint64_t seed, int reps, Interval next_interval) {
    JournalScript script;
    Random random(seed);
    SessionBegan began;
    began.drill.attacks = {AttackChoice{}};
    began.drill.attacks.front().pads = pad_bit(PadRole::high_left);
    script.add(began);
    script.connect({}, 0ms);
    script.cross(900ms, GateRole::far_mark);

    SetPlanned planned{0, script.at(1s), false, {}};
    Duration end = 1s;
    for (int i = 0; i < reps; ++i) {
        const Duration onset = end + 1200ms + seconds(random.exponential(1.5));
        end = onset + attack_length;
        planned.reps.push_back({RepId{i}, script.at(onset), script.at(end)});
    }
    script.add(planned);

    const auto step_in_and_out = [&](Duration at) {
        script.cross(at, GateRole::near_mark);
        script.cross(at + 260ms, GateRole::near_mark);
    };
    Duration next = 1500ms;
    for (const PlannedRep& rep : planned.reps) {
        const Duration onset = rep.onset.since_boot(), drop = onset + 420ms;
        for (; next < onset; next += next_interval(random)) step_in_and_out(next);
        script.open(rep.rep, began.drill.attacks.front(), single, onset, onset + attack_length + 500ms);
        script.confirm(rep.rep, single, onset);
        const Duration counter = std::max(drop, next > onset ? drop : next + 520ms) + seconds(random.uniform(0, 0.1));
        script.cross(counter - 60ms, GateRole::near_mark);
        script.hit(counter, PadRole::high_left);
        script.cross(counter + 300ms, GateRole::near_mark);
        next = counter - 60ms + next_interval(random);
        script.close(rep.rep, onset + attack_length + 500ms);
    }
    script.add(SetEnded{0, false});
    return Folded(script).score.totals();
}

}  // namespace

TEST_CASE("athletes of free rhythm are told in at most one session of twenty") {
    constexpr int sessions = 400;
    int told = 0;
    for (std::uint64_t seed = 1; seed <= sessions; ++seed) {
        const SessionTotals totals =
            play(seed, 40, [](Random& random) { return seconds(0.52 + random.exponential(0.8)); });
        if (totals.sign == Sign::tell) ++told;
        CHECK(totals.voids == 0);
    }
    MESSAGE("told: ", told, " of ", sessions, " (seeds 1 to 400)");
    CHECK(told <= sessions / 20);
}

TEST_CASE("a metronome is told through random attacks that cut its intervals") {
    constexpr int sessions = 50;
    int told = 0;
    for (std::uint64_t seed = 1; seed <= sessions; ++seed)
        if (play(seed, 20, [](Random& random) { return seconds(random.lognormal(0.9, 0.08)); }).sign == Sign::tell)
            ++told;
    MESSAGE("told: ", told, " of ", sessions);
    CHECK(told >= 45);
}
