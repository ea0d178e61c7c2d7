// A rig at 3 % damaged frames both ways, with board resets and a pulled cable: what the host has in its journal against
// what the rig numbered.
#include <doctest/doctest.h>

#include <map>
#include <set>

#include "support/fast_run.hpp"

using namespace breakstep;

namespace {

struct Outcome {
    int strikes = 0, doubled = 0, altered = 0, missing = 0, resets = 0, voids = 0, reps = 0;
};

Drill long_drill() {
    Drill drill = small_drill();
    drill.sets = 3;
    drill.reps = 12;
    return drill;
}

// Every pad hit of the truth is in the journal once and unaltered, or died with a boot.
Outcome compared(FastRun& run, const std::vector<RigTruth>& truths) {
    Outcome outcome;
    std::map<std::pair<BootId, std::uint16_t>, PadHit> heard;
    std::set<BootId> ended;
    BootId boot{};
    HostTime began, ended_at;
    for (const JournalRecord& record : run.records()) {
        if (record.position == 0) began = record.recorded;
        ended_at = record.recorded;
        if (const auto* rig = std::get_if<RigConnected>(&record.event)) {
            if (boot != BootId{} && rig->boot != boot) {
                ended.insert(boot);
                ++outcome.resets;
            }
            boot = rig->boot;
        }
        if (const auto* hit = std::get_if<PadHit>(&record.event)) {
            ++outcome.strikes;
            if (!heard.emplace(std::pair(hit->at.boot(), hit->sequence), *hit).second) ++outcome.doubled;
        }
    }
    for (const RigTruth& truth : truths) {
        if (truth.event.type != WIRE_PAD_HIT || truth.at < began || truth.at > ended_at - 1s) continue;
        const auto found = heard.find({truth.boot, truth.event.sequence});
        if (found == heard.end()) {
            if (!ended.contains(truth.boot)) ++outcome.missing;
            continue;
        }
        const Duration stamp(static_cast<std::int64_t>(truth.event.time) * WIRE_TICK_NS);
        if (found->second.at.since_boot() != stamp || found->second.peak != truth.event.as.pad_hit.peak)
            ++outcome.altered;
    }
    for (const RepResult& rep : run.score().reps()) {
        ++outcome.reps;
        if (rep.verdict == Verdict::void_rep) ++outcome.voids;
    }
    return outcome;
}

Outcome run_with(std::uint64_t seed, const std::vector<Fault>& faults, double damage) {
    SimulatedTargetSettings settings = simulated_target_settings(seed);
    settings.link.damage_to_host = settings.link.damage_to_rig = damage;
    settings.faults = faults;
    FastRun run(seed, settings);
    const auto how = run.run(long_drill(), seed, "Heron");
    REQUIRE(how.has_value());
    CHECK(*how == SessionEnd::finished);
    std::vector<RigTruth> truths;
    run.target.rig().take_truths(truths);
    return compared(run, truths);
}

}  // namespace

TEST_CASE("at 3 % damaged frames no strike is lost, doubled or altered, and every rep is scored") {
    int strikes = 0;
    for (std::uint64_t seed = 1; seed <= 5; ++seed) {
        CAPTURE(seed);
        const Outcome outcome = run_with(seed, {}, 0.03);
        strikes += outcome.strikes;
        CHECK(outcome.missing == 0);
        CHECK(outcome.doubled == 0);
        CHECK(outcome.altered == 0);
        CHECK(outcome.voids == 0);
        CHECK(outcome.reps >= 36);
    }
    CHECK(strikes > 100);
}

TEST_CASE("a pulled cable costs no strike that the rig kept, and the set goes on") {
    for (std::uint64_t seed = 11; seed <= 15; ++seed) {
        CAPTURE(seed);
        const Outcome outcome = run_with(
            seed,
            {{20s, FaultKind::unplug}, {23s, FaultKind::plug_in}, {50s, FaultKind::unplug}, {52s, FaultKind::plug_in}},
            0.03);
        CHECK(outcome.missing == 0);
        CHECK(outcome.doubled == 0);
        CHECK(outcome.altered == 0);
        CHECK(outcome.reps >= 36);
    }
}

TEST_CASE("a board's reset voids what it may have erased and nothing else") {
    for (std::uint64_t seed = 21; seed <= 25; ++seed) {
        CAPTURE(seed);
        const Outcome outcome = run_with(seed, {{22s, FaultKind::board_reset}, {61s, FaultKind::board_reset}}, 0.03);
        CHECK(outcome.resets == 2);
        CHECK(outcome.missing == 0);
        CHECK(outcome.doubled == 0);
        CHECK(outcome.altered == 0);
        // A reset meets one rep at most.
        CHECK(outcome.voids <= 2);
        CHECK(outcome.reps >= 36);
    }
}
