// The conduct fold: runs one session of a drill. It waits for the athlete to strike a pad, counts, opens reps at their
// planned (or drawn, hunted, tapped) moments, orders every cue at least 80 ms ahead, closes reps once everything has
// arrived, rests, adapts, and copes with a rig that goes away and comes back.
//
// Pure: events, results and times come in, commands go out; no clock, no device. One Conduct a session, owned by the
// engine, on its thread. Everything it decides that score must know goes into the journal as a command Append. Plans
// are in TargetTime; lamps carry them out to the tick, sound and screen follow by conversion.
#pragma once

#include <cstdint>
#include <deque>
#include <memory>
#include <optional>
#include <string_view>
#include <variant>
#include <vector>

#include "core/journal/events.hpp"
#include "core/score/score.hpp"
#include "core/trade/cue_sound.hpp"
#include "core/trade/lamp_code.hpp"
#include "core/trade/partner_list.hpp"

namespace breakstep {

/// The time now on both clocks; no rig time and no rate while its clock is not fitted.
struct Now {
    HostTime host;
    std::optional<TargetTime> rig;
    std::optional<ClockRate> rate{};
};

/// When conduct wants to be called again, by either clock.
struct Due {
    std::optional<HostTime> host;
    std::optional<TargetTime> rig;
};

/// Which cue: a border of a rep's attack (index as in PhaseBegan), or rep none: everything else.
struct CueRef {
    static constexpr RepId none{-1};
    RepId rep = none;
    std::int32_t index = 0;
};

/// To be put into the journal (and folded into score, and into conduct itself as any other record).
struct Append {
    JournalEvent event;
};
/// The engine answers at once with lamps_ordered().
struct OrderLamps {
    CueRef cue;
    TargetTime at;
    LampSet affected = 0, lit = 0;
};
struct CancelLamps {};
/// `at` none: as soon as it can be placed.
struct PlaySound {
    CueRef cue;
    CueSound sound{};
    std::optional<TargetTime> at;
};
struct CancelSounds {};
/// scene() changed.
struct ShowScene {};
/// The session is over; nothing more will come.
struct SessionDone {
    SessionEnd how{};
};
/// The session stands aside until SessionResumed.
struct SessionAside {};
/// A ping at `at`: its reply proves what came before.
struct AskPing {
    TargetTime at;
};
/// What the partner is to do, and when: shown where the athlete can't see it.
struct TellPartner {
    RepId rep{};
    AttackChoice what;
    Side lead{};
    TargetTime at;
};
using ConductCommand = std::variant<Append, OrderLamps, CancelLamps, PlaySound, CancelSounds, ShowScene, SessionDone,
                                    SessionAside, AskPing, TellPartner>;

enum class SceneKind : std::uint8_t { waiting_for_rig, awaiting_start, counting, running, resting, done };

struct SceneAttack {
    RepId rep{};
    TargetTime toe_off;
    AttackKind kind{};
    Side lead{};
    std::vector<AttackPhase> phases;   ///< empty: a lean that ends in nothing; toe_off is where it would have come
    std::optional<TargetTime> lean{};  ///< from here to toe-off the opponent leans
};

/// A beat that is being set: the athlete's steps in, and where the opponent expected them.
struct SceneLure {
    std::vector<TargetTime> entries, expected;  ///< of this rep, oldest first, the last few
    bool follows = false;
};

/// What a person should see, in the trade's words; the app turns it into pictures.
struct Scene {
    SceneKind kind = SceneKind::waiting_for_rig;
    std::int32_t set = 0, sets = 0;     ///< set from 0
    std::int32_t number = 0, reps = 0;  ///< rep number from 1; 0 before the first
    Side lead = Side::right;
    std::vector<SceneAttack> attacks;       ///< under way or ordered, oldest first
    std::optional<TargetTime> count_begin;  ///< when the first of the three lamps is lit
    Duration count_step{};
    Zone zone = Zone::unknown;
    std::optional<RepResult> verdict;
    HostTime verdict_since;
    std::optional<SignRaised> nudge;
    HostTime nudge_since;
    HostTime rest_begin, rest_end;
    HostTime awaiting_since;            ///< since when a strike is waited for that starts the set
    std::optional<TargetTime> flash;    ///< the session opens with a flash, here
    std::optional<VoidReason> trouble;  ///< the rig is gone, and why
    bool paused = false;
    std::optional<SceneLure> lure;
    double window = 1, pace = 1;  ///< the level
    bool call_it = false;         ///< the athlete is to call the rep that just ended
    std::int32_t asked = -1;      ///< as SetPlanned
};

/// Which devices can cue at all in this session; what the rig has is known from RigConnected.
struct CueDevices {
    bool sound = false, screen = false;
    bool partner_screen = false;  ///< a second display, or a phone, that only the partner sees
    RecordedWords words = 0;      ///< what the coach recorded is said instead of a tone
    bool loud_hall = false;       ///< what is heard of a result is told by the lamps as well
};

class Conduct {
  public:
    Conduct(const SessionBegan& session, CueDevices devices);
    ~Conduct();
    Conduct(Conduct&&) noexcept;
    Conduct& operator=(Conduct&&) noexcept;

    /// Every record of the journal, in order, also those it asked for itself.
    void on_record(const JournalRecord& record, const Now& now);
    /// What score made of that record.
    void on_result(const ScoreResult& result, const Now& now);
    /// The link's promise: everything stamped before `time` has been folded in (but see 20 ms in link.hpp).
    void complete_until(TargetTime time, const Now& now);
    /// The order id that the link gave to an OrderLamps; 0: it could not be ordered.
    void lamps_ordered(CueRef cue, std::uint16_t order, const Now& now);
    /// A sound or screen cue of a rep's border began at `at`.
    void cue_began(CueRef cue, OnsetSource source, TargetTime at, Uncertainty uncertainty, std::int64_t frame,
                   const Now& now);
    /// The coach takes a rep back (or gives it back, if it was void by the coach).
    void toggle_void(RepId rep, const Now& now);
    /// Why the coach's input can't be taken now, in words; nullopt: it can. A refused one must not be recorded.
    [[nodiscard]] std::optional<std::string_view> refusal(const CoachInput& input) const;
    /// What the coach wants the partner asked, in order: in the place of what is planned. What can't be asked is left
    /// out; list_refusal() says why, in words: of each choice, and of a list at all.
    void list_for_partner(const PartnerList& list);
    [[nodiscard]] std::optional<std::string_view> list_refusal() const;
    [[nodiscard]] std::optional<std::string_view> list_refusal(std::int32_t choice) const;
    /// What is listed still, the next one first.
    [[nodiscard]] const std::deque<std::int32_t>& partner_list() const;
    /// And once that is through, or while it is empty, by the plan of the set that runs; nothing: no cue is to come.
    [[nodiscard]] std::optional<AttackKind> planned_for_partner() const;
    void due(const Now& now);
    [[nodiscard]] Due next_due() const;

    /// Stands aside as soon as what belongs to its last rep has arrived, 320 ms after the close: SessionSuspended, then
    /// SessionAside. A set under way is cut: what is open is void, what was closed counts, and the rest is drawn again
    /// once it is resumed. A SessionResumed record lets it go on, with a strike.
    void suspend(const Now& now);
    /// Another process suspended it so, or was cut off; `given` are the numbers of a cut set's reps that count.
    void restore(const SessionSuspended& at, const std::vector<std::int32_t>& given,
                 const std::vector<RepResult>& results);
    /// Waits for suspend()'s moment, or stands aside.
    [[nodiscard]] bool suspending() const;

    /// Moves what is to be done, in order, to the end of `out`.
    void take(std::vector<ConductCommand>& out);
    [[nodiscard]] const Scene& scene() const;
    [[nodiscard]] const SessionBegan& session() const;
    [[nodiscard]] bool done() const;
    /// nullopt while the session runs.
    [[nodiscard]] std::optional<SessionEnd> how_it_ended() const;

  private:
    struct State;
    std::unique_ptr<State> state_;
};

}  // namespace breakstep
