// The live driver: feeds the engine from a real port in real time. Bytes, timers, onsets and commits become engine
// calls on one thread of its own (an Asio loop with one timer at the engine's next_due). A port that fails, hangs up or
// has no rig that answers is looked for again, under any name, until the rig is back (port_search.hpp). What the line
// does is told once, when it changes.
//
// start() and the requests may be called by any thread; everything else happens on the engine's thread. on_* callbacks
// come on the engine's thread and must be quick.
#pragma once

#include <atomic>
#include <functional>
#include <memory>
#include <optional>
#include <string>

#include "hall/drivers/driver_core.hpp"

namespace breakstep {

struct LiveSettings {
    EngineSettings engine;
    std::string port;  ///< "" to look for a rig on every candidate port
    /// Give up if no rig is connected after so long.
    Duration patience = 10s;
};

class LiveDriver {
  public:
    /// `journal`, `cues` and `capture` (may be null) must outlive it.
    LiveDriver(const LiveSettings& settings, Journal& journal, CueOutput& cues, CaptureWriter* capture);
    ~LiveDriver();
    LiveDriver(const LiveDriver&) = delete;
    LiveDriver& operator=(const LiveDriver&) = delete;

    struct Session {
        SessionBegan began;
        SceneNames names;
        /// Called on the engine's thread just before the session starts (a simulated athlete steps up).
        std::function<void()> before;
    };
    /// Runs the sessions one after the other on a thread of its own; finished() tells when that is over.
    void start(std::vector<Session> sessions);
    /// Engine's thread, or before the run begins: for an evening's owner, which begins sessions itself in a run that
    /// watch() began. What is hung into it beforehand stays.
    [[nodiscard]] DriverCore& core();
    /// Runs without sessions (checks, watching a rig) until stop(); or, with on_stop, an evening until finish().
    void watch();
    /// Any thread: runs it on the engine's, with the time there.
    void post(std::function<void(HostTime)> work);
    /// Engine's thread: the run is over.
    void finish();
    /// Engine's thread: the time.
    [[nodiscard]] HostTime now() const;
    /// Ends the run if it is not over, and waits for its thread: nothing is called any more.
    void join();
    [[nodiscard]] bool finished() const { return finished_.load(std::memory_order_acquire); }
    /// After finished(): how it went, with the error that ended it, if one did.
    [[nodiscard]] Expected<void> outcome() const;
    /// After finished().
    [[nodiscard]] LinkCounters link_counters() const;
    /// Engine's thread, in on_session_end: what was noticed of the rig's health.
    [[nodiscard]] const std::vector<HealthNotice>& health_notices() const;
    /// Engine's thread, in on_session_end: what the line was like in the session.
    [[nodiscard]] std::string line_health() const;
    /// After finished(): the port that was open last.
    [[nodiscard]] std::string port_path() const;

    /// From any thread.
    void request(const EngineInput& input);
    /// Ends the session that runs (it is kept) and everything after it.
    void stop();
    /// The journal's hint that something was committed.
    void journal_moved();

    /// Engine's thread.
    std::function<void(const ScoreResult&)> on_result;
    std::function<void(const LinkEvent&)> on_rig_answer;
    std::function<void(const std::string&)> on_notice;
    std::function<void(TargetTime)> on_test_sound, on_flash;
    /// Every 5 ms, for whoever waits for time to pass.
    std::function<void(HostTime)> on_poll;
    /// Once, before the rig is looked for.
    std::function<void(HostTime)> on_begin;
    /// After whatever happened, and every 5 ms: an evening's owner looks what follows from it.
    std::function<void(HostTime)> on_step;
    /// Asked to stop, by stop() or by a signal: whoever sets it calls finish() once all is in order.
    std::function<void(HostTime)> on_stop;
    std::function<void(const Session&, const Engine&)> on_session_end;
    /// Once the rig is connected and its clock's bound is good enough for cues.
    std::function<void(const Engine&, Duration since_start)> on_ready;

  private:
    struct State;
    std::unique_ptr<State> state_;
    std::atomic<bool> finished_{false};
};

}  // namespace breakstep
