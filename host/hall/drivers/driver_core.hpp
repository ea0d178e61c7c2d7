// What the live and the fast driver share: an engine whose every call may be captured, and where everything that comes
// out of it goes: records and results to the journal, sounds and scenes to the cue output, frames to the driver's port.
//
// Owned by a driver, used on its thread only. A journal that can't write any more pauses the drill until it can.
#pragma once

#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "core/score/journal.hpp"
#include "hall/drivers/cue_output.hpp"
#include "hall/engine/capture.hpp"
#include "hall/engine/engine.hpp"
#include "hall/scene/scene_view.hpp"
#include "hall/trust/rig_health.hpp"

namespace breakstep {

class DriverCore {
  public:
    /// `capture` may be null; it, `journal` and `cues` must outlive this. `write` takes each frame to the port and
    /// calls sent() with the time just before its first byte goes.
    DriverCore(const EngineSettings& settings, Journal& journal, CueOutput& cues, CaptureWriter* capture,
               std::function<void(const OutFrame&)> write);

    /// Makes the call and delivers all that comes of it. A coach's wish to go on while the journal can't be written is
    /// refused here, before the engine knows of it.
    void call(const EngineCall& call, HostTime now);
    void sent(FrameId frame, HostTime at);
    /// Looks for commits of the journal and for what the cue output did.
    void poll(HostTime now);

    void start(const SessionBegan& session, SceneNames names, HostTime now);
    /// A session that stands aside goes on.
    void resume(SessionId session, SceneNames names, HostTime now);
    /// How the session ended, once it has.
    [[nodiscard]] const std::optional<SessionEnd>& session_end() const { return session_end_; }
    /// Everything of the session so far is safely on disk.
    [[nodiscard]] bool all_committed() const { return waiting_.empty(); }
    /// Called for the records of each session as they go to the journal, in order; may be empty. It must not call back.
    std::function<void(SessionId, std::span<const JournalRecord>)> on_records;
    /// Called when a session stands aside.
    std::function<void(SessionId)> on_aside;
    /// Shown in place of the running session's own picture where it says so; may be empty.
    std::function<void(StageView&)> on_view;
    /// Called for each result as it comes (a rep's verdict on a terminal); may be empty.
    std::function<void(const ScoreResult&)> on_result;
    /// Called for each thing the link says that is no record of a session: refusals, levels, counters.
    std::function<void(const LinkEvent&)> on_rig_answer;
    /// Called for each trouble of the rig that is noticed during a session.
    std::function<void(const HealthNotice&)> on_health;
    /// What was noticed in this session so far. On the stage the newest stands for a while, and through the rest.
    [[nodiscard]] const std::vector<HealthNotice>& health_notices() const { return noticed_; }
    /// What the line was like since the session began.
    [[nodiscard]] std::string line_health() const { return line_summary(line_before_, engine_.link().counters()); }
    /// Called for each thing that the coach asked for and could not have, with the reason in words.
    std::function<void(const std::string&)> on_refusal;
    /// Called for each thing that the partner is to do, ahead of its moment; may be empty.
    std::function<void(const PartnerCue&)> on_partner_cue;
    /// Called when a TestSound left this computer, in rig time.
    std::function<void(TargetTime)> on_test_sound;
    /// Called when the screen showed a border outside a session, in rig time.
    std::function<void(TargetTime)> on_flash;
    /// Called once when the journal fails, with the error, and once when it writes again, with nothing.
    std::function<void(const std::optional<Error>&)> on_journal_trouble;

    [[nodiscard]] Engine& engine() { return engine_; }
    [[nodiscard]] const Engine& engine() const { return engine_; }

  private:
    void deliver(HostTime now);
    void begin_watch(SessionId session, SceneNames names);
    void make(const EngineCall& call, HostTime now);
    void pause_for_journal(HostTime now);
    [[nodiscard]] bool refused_for_journal(const EngineCall& call);
    void follow_journal(HostTime now);
    void show_scene(HostTime now);
    void watch_health(HostTime now);

    Engine engine_;
    Journal& journal_;
    CueOutput& cues_;
    CaptureWriter* capture_;
    std::function<void(const OutFrame&)> write_;
    EngineOutput out_;
    std::vector<OutFrame> frames_;
    SceneNames names_;
    std::optional<SessionId> session_;
    std::map<SessionId, std::int64_t>
        committed_;  ///< position that the engine was told of, of every session of this driver
    std::map<SessionId, std::int64_t> waiting_;  ///< last position, of sessions that are not all committed
    bool journal_in_trouble_ = false;
    bool paused_for_journal_ = false;  ///< the pause is ours, not the coach's: it ends with the trouble
    bool scene_waits_ = false, shown_as_saved_ = false;
    std::optional<SessionEnd> session_end_;
    RigHealth health_;
    LinkCounters line_before_;
    std::vector<HealthNotice> notices_, noticed_;
    HostTime noticed_at_{};
};

}  // namespace breakstep
