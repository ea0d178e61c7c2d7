// A session that begins while the rig is being found.
#include <doctest/doctest.h>

#include "core/trade/opponent.hpp"
#include "devices/simulated/simulated_target.hpp"
#include "hall/drivers/fast_driver.hpp"
#include "store/memory_journal.hpp"

using namespace breakstep;

TEST_CASE("a session that begins after the rig was found and before its clock is known waits for nothing else") {
    constexpr HostTime begin{1s};
    SimulatedTarget target(simulated_target_settings(3), begin);
    VirtualCues cues(nullptr, begin);
    MemoryJournal journal;
    EngineSettings settings;
    FastDriver driver(settings, target, journal, cues, nullptr, begin);
    Engine& engine = driver.core().engine();
    while (!engine.link().rig()) REQUIRE(driver.advance(begin + 10s));
    REQUIRE_FALSE(engine.link().connected());
    SessionBegan session;
    session.session = SessionId{1};
    session.drill.attacks = {AttackChoice{}};
    driver.core().start(session, {}, driver.now());
    driver.pass(10s);
    REQUIRE(engine.link().connected());
    CHECK(engine.conduct()->scene().kind == SceneKind::awaiting_start);
}
