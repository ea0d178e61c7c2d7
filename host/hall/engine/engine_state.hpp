// What the engine's files share: its state, and what each of them does with it. Internal to this folder.
#pragma once

#include <cstdint>
#include <deque>
#include <map>
#include <optional>
#include <unordered_map>
#include <vector>

#include "hall/engine/engine.hpp"

namespace breakstep {

struct Engine::State {
    explicit State(const EngineSettings& wanted) : settings(wanted), link(wanted.link, wanted.seed) {}

    [[nodiscard]] Now now_at(HostTime host) const {
        const auto target = link.target_time_from(host);
        return {host, target ? std::optional(target->at) : std::nullopt, link.rate()};
    }

    // engine.cpp
    void pump(HostTime host);
    void on_link(const LinkEvent& event, const Now& now);
    template <class Event>
    void happened(const Event& event, const Now& now);
    template <class Event>
    void record_or_tell(const Event& event, const Now& now);
    void record(JournalEvent event, const Now& now);
    void run_commands(const Now& now);
    void run(ConductCommand& command, const Now& now);
    void coach(const CoachInput& wanted, const Now& now);
    void safe(SessionId of, std::int64_t position, HostTime now);
    void follow_gates(const GateEdge& edge);

    // cues.cpp
    void play(const PlaySound& sound, const Now& now);
    void test_sound(const Now& now);

    // sessions.cpp
    void start(const StartSession& start, const Now& now);
    void tell_rig(const Now& now);
    void put_aside();
    void resume(const ResumeSession& wanted, const Now& now);
    void restore(const RestoreSession& wanted);
    void void_rep(const VoidRep& wanted, const Now& now);

    const EngineSettings settings;
    Link link;
    AudioClock audio_clock;
    std::int32_t block_frames = 0;  ///< as the sound device asks for them

    std::optional<SessionBegan> session;
    bool running = false;
    std::optional<Conduct> conduct;
    std::optional<Score> score;
    std::int64_t position = 0;
    std::optional<RigConnected> rig;  ///< with gates_broken kept current
    bool rig_there = false;           ///< found, though its clock may not be known yet
    Uncertainty last_bound = unknown_uncertainty;

    struct Aside {
        SessionBegan session;
        Conduct conduct;
        Score score;
        std::int64_t position;
    };
    std::map<SessionId, Aside> aside;
    bool keeps_idle = false;
    std::int64_t idle_position = 0;  ///< of the next rig event outside sessions
    static constexpr SessionId idle{};

    struct Unsafe {
        SessionId session;  ///< `idle`: kept outside sessions
        std::int64_t position;
        BootId boot;
        std::uint16_t sequence;
    };
    std::map<SessionId, std::int64_t> safe_until;
    std::deque<Unsafe> unsafe;  ///< rig events in the journal that are not known to be on disk

    std::uint64_t next_sound = 1;
    std::unordered_map<std::uint64_t, CueRef> sounds;
    std::vector<std::uint64_t> test_sounds;  ///< ids under way

    EngineOutput out;
    EngineCounters counters;
    std::vector<LinkEvent> link_events;
    std::vector<ScoreResult> results;
    std::vector<ConductCommand> commands;
};

}  // namespace breakstep
