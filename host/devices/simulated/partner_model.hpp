// A simulated partner in the marked box: a leg that passes a low and a hip gate, and hands that may pass one of their
// own. Told on a display what to do, cued by a lamp that only the partner sees, it reacts, obeys or does something
// else, bounces on its feet, springs back up half-way; or it kicks when it likes. What it truly did is kept beside.
//
// Pure: true times are handed in; owned by SimulatedTarget or a test; one thread; calls in order of time. Acts are told
// when they can't be taken back. The same seed and the same cues give the same leg.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <utility>
#include <variant>
#include <vector>

#include "core/random.hpp"
#include "core/time.hpp"
#include "core/trade/drill.hpp"
#include "core/trade/lamp_code.hpp"
#include "devices/simulated/agenda.hpp"
#include "devices/simulated/body.hpp"

namespace breakstep {

struct PartnerSettings {
    std::uint64_t seed = 1;
    OpponentSettings lengths = opponent_defaults(Level::intermediate);
    double disobeys = 0.12;      ///< does another kind than it was told
    double ignores = 0.02;       ///< does nothing
    double goes_early = 0.02;    ///< does not wait for the cue
    double unasked = 0.02;       ///< kicks once more, some time after an attack
    double second_lifts = 0.08;  ///< of its kicks: comes below the hip and springs out again
    double bounces = 0.25;       ///< share of the attacks with a bounce before or after them
    double impossible = 0.01;    ///< of its kicks: lingers between the gates, over 400 ms
    Duration reaction_mean = 320ms;
    double reaction_spread = 0.15;
    /// Kicks when it likes, after at least `own_shortest` and an exponential of this mean; none: waits for cues.
    std::optional<Duration> own_pace;
    Duration own_shortest = 1200ms;
    /// What it kicks with at its own time: the share of each AttackKind; then, with this chance, the second of the pair
    /// after the first.
    std::array<double, 6> own_kinds{1, 1, 1, 1, 1, 1};
    std::optional<std::pair<AttackKind, AttackKind>> own_habit;
    double own_habit_share = 0.9;
    /// Kicks `springs_after` after the athlete gave ground so many times since its last kick; 0: never.
    std::int32_t springs_at_retreat = 0;
    double springs = 0.9;  ///< how often
    Duration springs_after = 450ms;
    /// Gives ground to who steps in at it, and again while they stay inside: so many steps back until a foot stands in
    /// its back mark; 0: it has no such mark behind it. There it kicks, or steps out aside.
    std::int32_t room = 0;
    double yields = 0.85;  ///< how often
    Duration yields_after = 520ms;
    double attacks_at_edge = 0.75;
    Duration attacks_after = 420ms, aside_after = 900ms;

    /// Whom a drill wants in the box.
    [[nodiscard]] static PartnerSettings for_drill(const Drill& drill, std::uint64_t seed);
};

/// What the partner truly did, by the gates' own borders.
struct LegTruth {
    struct Border {
        Phase phase{};
        HostTime at;
    };
    HostTime toe_off;
    CameKind came{};
    std::vector<Border> borders;  ///< guard only where a gate sees it: after a feint
    std::uint32_t second_lifts = 0;
    Duration hip_longest{};  ///< above the hip without a pause
};

class PartnerModel {
  public:
    PartnerModel(const PartnerSettings& settings, HostTime now);

    /// The display says what to do at the next cue.
    void told(HostTime now, const AttackChoice& what);
    /// The lamp that only the partner sees was lit.
    void cued(HostTime at);
    /// The athlete gave ground: a leg passed the far mark outward.
    void retreat_seen(HostTime at);
    /// The athlete stepped in past the near mark, or out again.
    void athlete_near(HostTime at, bool inside);
    /// A set runs, or not: at its own pace a partner kicks only in one.
    void set_runs(HostTime now, bool runs);

    void due(HostTime now);
    /// Steps out of the box: whatever leg or hand was in a beam is out of it.
    void leave(HostTime now);
    [[nodiscard]] std::optional<HostTime> next_due() const { return agenda_.next(); }
    void take_acts(std::vector<AthleteAct>& out);
    /// What the athlete sees of the leg, as lamps would show it; the newest.
    [[nodiscard]] LampSet looks() const { return looks_; }
    [[nodiscard]] const std::vector<LegTruth>& truths() const { return truths_; }
    /// Times of bounces: the low gate was broken then, and nothing else.
    [[nodiscard]] const std::vector<HostTime>& bounces() const { return bounces_; }
    /// When its foot came into its back mark.
    [[nodiscard]] const std::vector<HostTime>& at_the_edge() const { return at_the_edge_; }

  private:
    struct Go {
        AttackKind kind;
        std::int32_t rebounds;
    };
    struct Show {
        LampSet looks;
    };
    struct Beam {
        GateRole gate;
        bool blocked;
    };
    struct Bounce {};
    struct OwnTime {
        std::uint32_t plan;
    };
    struct StepBack {};
    struct StepForward {};
    using Action = std::variant<Go, Show, Beam, Bounce, OwnTime, StepBack, StepForward>;

    void happen(HostTime now, const Go&);
    void happen(HostTime now, const Show&);
    void happen(HostTime now, const Beam&);
    void happen(HostTime now, const Bounce&);
    void happen(HostTime now, const OwnTime&);
    void happen(HostTime now, const StepBack&);
    void happen(HostTime now, const StepForward&);
    void beam(HostTime from, HostTime to, GateRole gate);
    void plan_own(HostTime from);
    void give_ground(HostTime from);
    [[nodiscard]] AttackKind own_kind();
    [[nodiscard]] AttackKind any_other(AttackKind kind);
    [[nodiscard]] Duration reaction();

    PartnerSettings settings_;
    Random random_;
    Agenda<Action> agenda_;
    std::vector<AthleteAct> acts_;
    std::vector<LegTruth> truths_;
    std::vector<HostTime> bounces_, at_the_edge_;
    std::vector<GateRole> in_beams_;
    LampSet looks_ = 0;
    AttackChoice told_;
    std::optional<AttackKind> last_kind_;
    HostTime busy_until_;
    bool early_ = false, runs_ = false;
    std::uint32_t plan_ = 0;
    std::int32_t retreats_ = 0;
    std::int32_t ground_ = 0;  ///< steps back from where it began
    bool crowded_ = false;     ///< the athlete is inside the near mark
};

}  // namespace breakstep
