#include "hall/trust/rig_health.hpp"

#include <doctest/doctest.h>

#include "support/fast_run.hpp"

using namespace breakstep;

namespace {

constexpr BootId boot{3};
TargetTime at(Duration since) { return {boot, since}; }

GateEdge edge(Duration since, GateRole gate, bool broken) {
    GateEdge event;
    event.at = at(since);
    event.gate = gate;
    event.broken = broken;
    return event;
}

PadHit hit(Duration since, PadRole pad) {
    PadHit event;
    event.at = at(since);
    event.pad = pad;
    event.peak = 400;
    return event;
}

}  // namespace

TEST_CASE("a gate blocked for three seconds is said once, and again when it is blocked anew") {
    RigHealth health;
    std::vector<HealthNotice> said;
    health.fold(edge(1s, GateRole::near_mark, true), said);
    health.time_is(at(3900ms), said);
    CHECK(said.empty());
    health.time_is(at(4s), said);
    REQUIRE(said.size() == 1);
    CHECK(said[0].what == "the gate near has been blocked for 3 s");
    health.time_is(at(9s), said);
    CHECK(said.size() == 1);
    health.fold(edge(10s, GateRole::near_mark, false), said);
    health.fold(edge(11s, GateRole::near_mark, true), said);
    health.time_is(at(15s), said);
    CHECK(said.size() == 2);
}

TEST_CASE("a pad that was struck and is missing from thirty strikes has gone quiet") {
    RigHealth health;
    std::vector<HealthNotice> said;
    Duration time = 0s;
    for (int i = 0; i < 4; ++i) health.fold(hit(time += 2s, PadRole::low_left), said);
    for (int i = 0; i < 29; ++i) health.fold(hit(time += 2s, PadRole::high_left), said);
    CHECK(said.empty());
    health.fold(hit(time += 2s, PadRole::high_left), said);
    REQUIRE(said.size() == 1);
    CHECK(said[0].what == "the pad low left has gone quiet");
    // A pad that nobody ever struck is no news.
    for (int i = 0; i < 60; ++i) health.fold(hit(time += 2s, PadRole::high_left), said);
    CHECK(said.size() == 1);
}

TEST_CASE("six blows on a pad within a second are no person's") {
    RigHealth health;
    std::vector<HealthNotice> said;
    for (int i = 0; i < 5; ++i) health.fold(hit(1s + i * 100ms, PadRole::high_right), said);
    CHECK(said.empty());
    health.fold(hit(1600ms, PadRole::high_right), said);
    REQUIRE(said.size() == 1);
    CHECK(said[0].what == "the pad high right fires alone");
}

TEST_CASE("a hall is too loud when the microphone hears much that we did not play") {
    RigHealth quiet_hall, loud_hall;
    std::vector<HealthNotice> said;
    const auto sound = [](Duration since) {
        SyncEdge event;
        event.at = at(since);
        event.rising = true;
        return event;
    };
    for (int i = 0; i < 40; ++i) {
        CueOnset ours;
        ours.source = OnsetSource::sound;
        ours.at = at(i * 300ms);
        quiet_hall.fold(ours, said);
        quiet_hall.fold(sound(i * 300ms + 37ms), said);
    }
    CHECK(said.empty());
    for (int i = 0; i < 40; ++i) loud_hall.fold(sound(i * 300ms), said);
    REQUIRE(said.size() == 1);
    CHECK(said[0].what == "the hall is too loud for sound cues");
}

TEST_CASE("times of two boots are never compared") {
    RigHealth health;
    std::vector<HealthNotice> said;
    health.fold(edge(1s, GateRole::near_mark, true), said);
    RigConnected other;
    other.boot = BootId{4};
    health.time_is({BootId{4}, 100s}, said);
    health.fold(other, said);
    health.time_is({BootId{4}, 200s}, said);
    CHECK(said.empty());
}

TEST_CASE("a gate that stays blocked in a drill is noticed, stands on the stage, and is told with the session") {
    FastRun run(71, simulated_target_settings(71));
    run.target.rig().block_gate(run.driver.now() + 20s, GateRole::attack_line, true);
    std::vector<HealthNotice> told;
    run.driver.core().on_health = [&](const HealthNotice& notice) { told.push_back(notice); };
    REQUIRE(run.run(small_drill(), 5, "Heron").has_value());
    REQUIRE(told.size() == 1);
    CHECK(told[0].what == "the gate line has been blocked for 3 s");
    CHECK(run.driver.core().health_notices() == told);
    // At the end the summary is shown, and the notice with it.
    CHECK(run.cues.last_view().screen == StageScreen::summary);
    CHECK(run.cues.last_view().notice == told[0].what + ": " + told[0].to_do);
}
