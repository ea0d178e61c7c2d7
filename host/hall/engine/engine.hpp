// The engine: link, conduct and score as one machine without I/O. Bytes, times, onsets and commands go in by calls;
// frames, journal records, results and cues come out by drain(). The live driver and the fast driver feed this same
// class, and a capture is every call in order with its arguments and the seed: the same calls give the same journal.
//
// Owned by a driver, on one thread. It never blocks, reads no clock and fails only through what drain() hands out.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <variant>
#include <vector>

#include "core/conduct/conduct.hpp"
#include "core/score/score.hpp"
#include "link/link.hpp"

namespace breakstep {

/// A host delay as the sync input measured it; see CalibrationUsed.
struct CueDelay {
    Duration delay{};
    Uncertainty spread = unknown_uncertainty;
};

struct EngineSettings {
    LinkSettings link;
    std::uint64_t seed = 0;
    CueDevices devices;
    std::optional<CueDelay> sound_delay, screen_delay;
};

/// What a driver's owner can ask for. Rig commands are for the checks of a rig, outside sessions or in them.
struct StartSession {
    SessionBegan session;
};
struct Coach {
    CoachInput input;
};
struct ToggleVoid {
    RepId rep{};
};
struct AskCounters {};
struct SwitchLevels {
    bool on = false;
};
struct ChangeSetting {
    std::uint8_t key = 0, index = 0;
    std::uint16_t value = 0;
};
struct AskSetting {
    std::uint8_t key = 0, index = 0;
};
/// Plays the count's sound as soon as it can be placed; when it left comes out as EngineOutput::test_sounds.
struct TestSound {};
/// The session that runs stands aside as soon as it can; EngineOutput::session_aside says when.
struct SuspendSession {};
/// One that stands aside goes on.
struct ResumeSession {
    SessionId session{};
};
/// A void of the coach's, or its taking back (none), in the session that runs or in one that stands aside.
struct VoidRep {
    SessionId session{};
    RepId rep{};
    VoidReason reason{};
};
/// From now on rig events outside sessions are kept by whoever drains rig_answers: they are acknowledged to the rig
/// once committed() told, of session 0, the position of each (from 0).
struct KeepIdle {};
/// A session of another process, as its journal tells it, stands aside from now on.
struct RestoreSession {
    std::vector<JournalRecord> records;
};
/// What the partner is asked next in the session that runs.
struct ListForPartner {
    PartnerList list;
};
using EngineInput =
    std::variant<StartSession, Coach, ToggleVoid, AskCounters, SwitchLevels, ChangeSetting, AskSetting, TestSound,
                 SuspendSession, ResumeSession, VoidRep, KeepIdle, RestoreSession, ListForPartner>;

/// A record of a session that stands aside.
struct AsideRecord {
    SessionId session{};
    JournalRecord record;
};
struct AsideResult {
    SessionId session{};
    ScoreResult result;
};

/// A sound to be started at a frame of the device's stream.
struct SoundOrder {
    std::uint64_t id = 0;
    CueSound sound{};
    AudioFrame at{};
};
/// What the partner is to do at `at`, for whatever the partner alone sees.
struct PartnerCue {
    RepId rep{};
    AttackChoice what;
    Side lead{};
    HostTime at;
};
struct SoundsCancelled {};
using SoundCommand = std::variant<SoundOrder, SoundsCancelled>;

/// Everything that came out since the last drain, in order within each list. Reused by the caller: drain() appends.
struct EngineOutput {
    std::vector<OutFrame> frames;
    std::vector<JournalRecord> records;  ///< of `session`
    std::vector<ScoreResult> results;    ///< of `session`
    std::vector<SoundCommand> sounds;
    std::vector<LinkEvent>
        rig_answers;  ///< RigRefused, PadLevel, RigCounters, SettingValue; outside sessions also rig events
    std::vector<TargetTime> test_sounds;  ///< when each left this computer, without any device's delay
    std::vector<TargetTime> flashes;      ///< outside sessions: when each border was shown, without any screen's delay
    std::vector<PartnerCue> partner_cues;
    std::vector<std::string> refusals;  ///< what the coach asked for and could not have, in words
    std::optional<SessionId> session;   ///< whose records and results these are
    std::vector<AsideRecord> aside_records;
    std::vector<AsideResult> aside_results;
    std::optional<SessionId> session_aside;  ///< it stands aside from now on
    bool scene_changed = false;
    std::optional<SessionEnd> session_done;
    void clear();
};

struct EngineCounters {
    std::uint64_t sounds_without_clock = 0;  ///< cues that had no audio stream to be placed on
    std::uint64_t sounds_late = 0;
    std::uint64_t cues_unconverted = 0;  ///< onsets that could not be told in rig time
};

class Engine {
  public:
    explicit Engine(const EngineSettings& settings);
    ~Engine();
    Engine(Engine&&) noexcept;
    Engine& operator=(Engine&&) noexcept;

    void port(bool open, HostTime now);
    void bytes(HostTime arrived, std::span<const std::uint8_t> received);
    void due(HostTime now);
    [[nodiscard]] std::optional<HostTime> next_due() const;
    void sent(FrameId frame, HostTime at);
    /// The journal says that `session` is safe up to `position`.
    void committed(SessionId session, std::int64_t position, HostTime now);
    /// A SoundOrder began at `frame`; `late` if its own had passed.
    void onset(std::uint64_t sound, AudioFrame frame, bool late, HostTime now);
    /// The screen first showed border `index` of `rep` at `shown_at`. Outside sessions it comes out as
    /// EngineOutput::flashes.
    void shown(RepId rep, std::int32_t index, HostTime shown_at, std::int64_t frame, HostTime now);
    /// The device asked for the block that begins at `first` at `asked_at`.
    void audio_block(AudioFrame first, std::int32_t frames, HostTime asked_at, HostTime now);
    void input(const EngineInput& command, HostTime now);

    void drain(EngineOutput& out);

    [[nodiscard]] const Link& link() const;
    [[nodiscard]] const EngineCounters& counters() const;
    /// Of the session that runs or ran last; null before the first.
    [[nodiscard]] const Conduct* conduct() const;
    [[nodiscard]] const Score* score() const;
    [[nodiscard]] bool in_session() const;
    /// The session that runs; none between sessions.
    [[nodiscard]] std::optional<SessionId> running_session() const;
    /// Of the session that runs, ran last, or stands aside; null if it is not known.
    [[nodiscard]] const Score* score_of(SessionId session) const;

  private:
    struct State;
    std::unique_ptr<State> state_;
};

}  // namespace breakstep
