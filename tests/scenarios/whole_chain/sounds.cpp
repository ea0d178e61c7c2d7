#include <doctest/doctest.h>

#include <set>

#include "support/fast_run.hpp"

using namespace breakstep;

TEST_CASE("every sound of a drill starts at its planned frame, and the samples show it") {
    const std::uint64_t seed = 31;
    FastRun run(seed, true);
    std::vector<std::int16_t> samples;
    run.cues.keep_samples(&samples);
    Drill drill = small_drill();
    drill.lamps = false;  // the sound is what cues
    REQUIRE(run.run(drill, seed, "Heron") == SessionEnd::finished);
    const MixerCounters counters = run.cues.mixer()->counters();
    CHECK(counters.started > 15);
    CHECK(counters.late == 0);
    CHECK(counters.lost == 0);
    CHECK(run.driver.core().engine().counters().sounds_late == 0);
    int onsets = 0;
    for (const JournalRecord& record : run.records())
        if (const auto* onset = std::get_if<CueOnset>(&record.event)) {
            ++onsets;
            CHECK(onset->source == OnsetSource::sound);
            // Silence before the frame, sound from it on: toe-off has the air for itself.
            if (onset->index != 0) continue;
            const auto first = static_cast<std::size_t>(2 * onset->frame);
            REQUIRE(first + 1 < samples.size());
            CHECK(samples[first - 2] == 0);
            CHECK(samples[first] != 0);
        }
    CHECK(onsets >= 6);
}

TEST_CASE("without lamps the phases are known from the sound, and its unmeasured delay is said") {
    FastRun run(33, true);
    Drill drill = small_drill();
    drill.lamps = false;
    REQUIRE(run.run(drill, 33, "Heron") == SessionEnd::finished);
    int phases = 0;
    for (const JournalRecord& record : run.records())
        if (const auto* phase = std::get_if<PhaseBegan>(&record.event)) {
            ++phases;
            CHECK(phase->source == OnsetSource::sound);
            CHECK(phase->uncertainty == unknown_uncertainty);
        }
    CHECK(phases == 6 * 6);
    for (const RepResult& rep : run.score().reps()) {
        CHECK(rep.verdict != Verdict::void_rep);
        if (rep.latency) CHECK(rep.uncertainty == unknown_uncertainty);
    }
}
