// A live run on a simulated rig over a real pseudo-terminal, captured, then played again without any device.
#include <doctest/doctest.h>

#include <chrono>
#include <filesystem>
#include <thread>

#include "devices/simulated/simulate_rig.hpp"
#include "hall/drivers/live_cues.hpp"
#include "hall/drivers/live_driver.hpp"
#include "support/fast_run.hpp"

using namespace breakstep;

TEST_CASE("a captured live run played again gives the identical journal") {
    const auto path = std::filesystem::temp_directory_path() / "breakstep_live_test.capture";
    Drill drill = small_drill();
    drill.reps = 3;
    SimulateRigOptions options;
    options.seed = 8;
    options.damage = 0.03;
    options.athlete = AthleteSettings{*find_athlete("Heron"), drill.attacks, 8};
    auto rig = SimulatedRig::open(options);
    REQUIRE(rig.has_value());

    LiveSettings settings;
    settings.engine.seed = 8;
    settings.port = rig->path();
    auto capture = CaptureWriter::create(path, settings.engine);
    REQUIRE(capture.has_value());
    MemoryJournal journal;
    LiveCues::Wanted nothing;
    nothing.sound = nothing.stage = false;
    LiveCues cues(nothing);
    SessionBegan session;
    session.session = SessionId{77};
    session.seed = 8;
    session.drill = drill;
    {
        LiveDriver driver(settings, journal, cues, &*capture);
        driver.start({{session, {}, {}}});
        // Only so that a hang ends: nothing is judged by time.
        const auto give_up = std::chrono::steady_clock::now() + std::chrono::minutes(3);
        while (!driver.finished() && std::chrono::steady_clock::now() < give_up)
            std::this_thread::sleep_for(std::chrono::milliseconds(20));
        REQUIRE(driver.finished());
        REQUIRE(driver.outcome().has_value());
    }
    REQUIRE(capture->close().has_value());
    const auto& live = journal.sessions().at(session.session).records;
    REQUIRE(live.size() > 50);
    CHECK(journal.sessions().at(session.session).reps.size() >= 3);

    std::optional<Engine> engine;
    EngineOutput out;
    std::vector<JournalRecord> replayed;
    const auto read = read_capture(
        path, [&](const EngineSettings& began_with) { engine.emplace(began_with); },
        [&](const EngineCall& call) {
            apply(*engine, call);
            engine->drain(out);
            for (JournalRecord& record : out.records) replayed.push_back(record);
            out.clear();
        });
    REQUIRE(read.has_value());
    CHECK(replayed.size() == live.size());
    CHECK(bytes_of(replayed) == bytes_of(live));
    std::filesystem::remove(path);
}
