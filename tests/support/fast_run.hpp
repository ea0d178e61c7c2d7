// A whole run in virtual time for tests: engine, fast driver, simulated target and a journal in memory.
#pragma once

#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "core/journal/codec.hpp"
#include "devices/audio/sound_set.hpp"
#include "devices/simulated/simulated_target.hpp"
#include "hall/drivers/fast_driver.hpp"
#include "places.hpp"
#include "store/memory_journal.hpp"

namespace breakstep {

inline Drill small_drill(Moment moment = Moment::drop) {
    Drill drill;
    drill.name = "small";
    drill.title = "small";
    drill.sets = 1;
    drill.reps = 6;
    drill.rest = 5s;
    drill.level = Level::beginner;
    drill.opponent = opponent_defaults(Level::beginner);
    AttackChoice attack;
    attack.moment = moment;
    drill.attacks = {attack};
    return drill;
}

struct FastRun {
    static constexpr HostTime begin{Duration{1'000'000'000}};

    explicit FastRun(std::uint64_t seed, const SimulatedTargetSettings& target_settings, bool sound = false)
        : target(target_settings, begin),
          cues(sound ? mixer() : nullptr, begin),
          driver(settings(seed, sound), target, journal, cues, nullptr, begin) {}
    explicit FastRun(std::uint64_t seed, bool sound = false) : FastRun(seed, simulated_target_settings(seed), sound) {}

    static EngineSettings settings(std::uint64_t seed, bool sound) {
        EngineSettings engine;
        engine.seed = seed;
        engine.devices.sound = sound;
        return engine;
    }
    static std::unique_ptr<CueMixer> mixer() {
        auto sounds = load_sounds(std::string(BREAKSTEP_SOURCE_DIR) + "/sounds");
        return std::make_unique<CueMixer>(std::move(*sounds));
    }

    Expected<SessionEnd> run(const Drill& drill, std::uint64_t seed) {
        SessionBegan session;
        session.session = SessionId{seed + 1};
        session.athlete = AthleteId{7};
        session.seed = seed;
        session.drill = drill;
        SceneNames names;
        names.athlete = "Teal";
        names.lift = drill.opponent.lift;
        id = session.session;
        return driver.run(session, names, 3600s);
    }
    Expected<SessionEnd> run(const Drill& drill, std::uint64_t seed, const char* call_sign) {
        target.set_athlete(driver.now(), {*find_athlete(call_sign), drill.attacks, seed});
        return run(drill, seed);
    }

    [[nodiscard]] const std::vector<JournalRecord>& records() const { return journal.sessions().at(id).records; }
    [[nodiscard]] const Score& score() { return *driver.core().engine().score(); }

    MemoryJournal journal;
    SimulatedTarget target;
    VirtualCues cues;
    FastDriver driver;
    SessionId id{};
};

/// Two records are the same only if all that would be written is.
inline std::string bytes_of(const JournalRecord& record) {
    std::string bytes;
    ByteWriter writer(bytes);
    writer(record.position, record.recorded);
    encode(record.event, bytes);
    return bytes;
}

inline std::string bytes_of(const std::vector<JournalRecord>& records) {
    std::string all;
    for (const JournalRecord& record : records) all += bytes_of(record);
    return all;
}

}  // namespace breakstep
