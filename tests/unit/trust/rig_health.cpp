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

TEST_CASE("a drill whose gates or pads the rig does not have is said so before its first set, once") {
    const auto said_of = [](const Drill& drill, std::vector<GateRole> gates, std::vector<PadRole> pads) {
        RigConnected rig;
        rig.boot = boot;
        Channel lamp;
        lamp.kind = ChannelKind::lamp;
        rig.channels.push_back(lamp);
        for (const GateRole role : gates) {
            Channel gate;
            gate.kind = ChannelKind::gate;
            gate.role = static_cast<std::uint8_t>(role);
            rig.channels.push_back(gate);
        }
        for (const PadRole role : pads) {
            Channel pad;
            pad.kind = ChannelKind::pad;
            pad.role = static_cast<std::uint8_t>(role);
            rig.channels.push_back(pad);
        }
        RigHealth health;
        std::vector<HealthNotice> said;
        SessionBegan began;
        began.drill = drill;
        health.fold(JournalEvent(began), said);
        health.fold(JournalEvent(rig), said);
        health.fold(JournalEvent(SetPlanned{}), said);
        health.fold(JournalEvent(SetPlanned{}), said);
        std::string all;
        for (const HealthNotice& notice : said) all += notice.what + "|";
        return all;
    };
    using enum GateRole;
    const std::vector<PadRole> any{PadRole::low_left};
    Drill drill;
    drill.name = "two-back";
    drill.attacks = {AttackChoice{}};
    drill.start = StartKind::drawn;
    drill.manners.draw_by(DrewBy::ground_given_twice);
    CHECK(said_of(drill, {near_mark}, any) == "nothing will draw the attacks of two-back: the rig has no far mark|");
    CHECK(said_of(drill, {near_mark, far_mark}, any).empty());
    drill.manners = {};
    drill.manners.draw_by(DrewBy::hand_shown);
    CHECK(said_of(drill, {near_mark}, any) == "the rig has no gate for the front hand|");
    drill.manners.draw_by(DrewBy::entry);
    CHECK(said_of(drill, {near_mark}, any).empty());
    drill.manners = {};
    drill.manners.draw_by(DrewBy::strike);
    CHECK(said_of(drill, {near_mark}, any).empty());
    drill.start = StartKind::random;
    drill.asks.rung = RungAim::range;
    CHECK(said_of(drill, {near_mark}, any) == "room can't be judged: the rig has no far mark|");
    drill.asks.rung = {};
    drill.asks.off_line = true;
    CHECK(said_of(drill, {near_mark}, any) == "whether the line was left is not seen: the rig has no attack line|");
    drill.asks.off_line = false;
    drill.attacks.front().pads = pad_bit(PadRole::high_left);
    CHECK(said_of(drill, {near_mark}, any) ==
          "no strike can be right: the rig has none of the pads that two-back asks for|");
    drill.attacks.front().pads = 0;
    drill.start = StartKind::lure;
    CHECK(said_of(drill, {far_mark}, any) == "the steps of two-back are not seen: the rig has no near mark|");
}
