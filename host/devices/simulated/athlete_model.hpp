// A simulated athlete at the rig. It perceives the lamps, once lit, and nothing else: no plan, no journal, no score.
// What it was told before the drill (which answer to which attack) it was told by the coach, as an athlete is.
//
// The ready lamp alone: walk in, strike a pad to start, withdraw to the home place. The count: wait. Then watch: step
// in and out by habit while nothing comes; read each attack from its lamps, aim at the asked moment by the lengths seen
// so far, and strike, hold, give ground or fail as the profile has it.
//
// Pure: true times are handed in; owned by SimulatedTarget or a test; one thread; calls in order of time. Acts are told
// when they can't be taken back. The same seed and the same lamps give the same acts.
#pragma once

#include <cstdint>
#include <optional>
#include <variant>
#include <vector>

#include "core/random.hpp"
#include "core/time.hpp"
#include "core/trade/drill.hpp"
#include "core/trade/lamp_code.hpp"
#include "devices/simulated/agenda.hpp"
#include "devices/simulated/athlete_profile.hpp"
#include "devices/simulated/attack_reader.hpp"
#include "devices/simulated/body.hpp"

namespace breakstep {

struct AthleteSettings {
    AthleteProfile profile = typical_athlete(Level::intermediate);
    std::vector<AttackChoice> told;  ///< what the coach said: the drill's attacks, with the answer to each; empty: a
                                     ///< single kick, at the drop, with the front hand, on any pad
    std::uint64_t seed = 1;
    Duration looks = 1000ms;  ///< at the task, before it walks in to start a set
    Duration patience = 11s;  ///< dark for so long: the set seems over, it rests
    // What else the coach said.
    StartKind start = StartKind::random;
    Asks asks{};
    Manners manners{};
    /// The profile and the seed, and all that the drill's own words tell.
    [[nodiscard]] static AthleteSettings for_drill(const AthleteProfile& profile, const Drill& drill,
                                                   std::uint64_t seed);
};

class AthleteModel {
  public:
    AthleteModel(const AthleteSettings& settings, HostTime now);

    /// The lamps changed at `at`, which is now.
    void lamps(HostTime at, LampSet lit);
    /// The opponent on the screen leans from `at` on, which is now.
    void lean(HostTime at);
    /// The screen says from now on that the opponent follows the beat.
    void followed(HostTime now);
    /// The partner has come to the end of their room.
    void partner_at_edge(HostTime now);
    void due(HostTime now);
    [[nodiscard]] std::optional<HostTime> next_due() const { return agenda_.next(); }
    void take_acts(std::vector<AthleteAct>& out);
    /// Its turn is over: it walks off past the back mark.
    void leave(HostTime now);

    [[nodiscard]] Place place() const { return body_.place(); }

  private:
    enum class Mode : std::uint8_t { resting, starting, counting, watching };
    /// What it does about the attack it sees.
    enum class Answer : std::uint8_t { none, open, going, given_up };

    struct Perceive {
        HostTime changed;
        LampSet lit;
    };
    struct StartStrike {};
    struct Probe {};
    struct ProbeOut {};
    struct StepBackIn {};
    struct StepBackOut {};
    struct Guess {};
    struct Go {
        std::uint32_t plan;
    };
    struct Contact {
        std::uint32_t plan;
        bool start;
    };
    struct Withdraw {};
    struct Regroup {};
    struct LooksHeld {
        HostTime up_at;
    };
    struct LooksOver {
        HostTime dark_at;
    };
    struct LooksLong {
        HostTime dark_at;
    };
    struct SeesLean {};
    struct SeesFollowed {};
    struct SeesEdge {};
    struct OpensDoor {};
    struct SecondStrike {};
    struct CallsIt {
        PadRole pad{};
    };
    using Action = std::variant<Perceive, StartStrike, Probe, ProbeOut, StepBackIn, StepBackOut, Guess, Go, Contact,
                                Withdraw, Regroup, LooksHeld, LooksOver, LooksLong, SeesLean, SeesFollowed, SeesEdge,
                                OpensDoor, SecondStrike, CallsIt>;

    // athlete_model.cpp: lamps, starting, watching
    void happen(HostTime now, const Perceive&);
    void happen(HostTime now, const StartStrike&);
    void happen(HostTime now, const Probe&);
    void happen(HostTime now, const ProbeOut&);
    void happen(HostTime now, const StepBackIn&);
    void happen(HostTime now, const StepBackOut&);
    void happen(HostTime now, const Guess&);
    void happen(HostTime now, const Withdraw&);
    void happen(HostTime now, const Regroup&);
    void happen(HostTime now, const LooksLong&);
    void see_ready(HostTime now);
    void begin_set(HostTime now);
    void begin_waiting(HostTime now);
    void plan_probe(HostTime now, bool fresh);
    void time_the_lift(HostTime now);
    [[nodiscard]] bool times_this_lift();
    void note_wait();
    void drop_probes();
    [[nodiscard]] Duration next_interval();

    // athlete_task.cpp: what a drill asks beside the strike
    void happen(HostTime now, const SeesFollowed&);
    void happen(HostTime now, const SeesEdge&);
    void happen(HostTime now, const OpensDoor&);
    void happen(HostTime now, const SecondStrike&);
    void happen(HostTime now, const CallsIt&);
    void wait_elsewhere();
    void show_hand(HostTime now);
    [[nodiscard]] bool draws_by_hand() const;
    [[nodiscard]] Duration changed_pace();
    [[nodiscard]] bool draws_by_ground() const;
    [[nodiscard]] Duration beat_to_set() const;
    void break_beat(HostTime now);
    [[nodiscard]] bool crowds_now();
    void keep_range(HostTime now);
    void plan_beside(HostTime contact);
    void plan_call(HostTime now);

    // athlete_answer.cpp: an attack
    void happen(HostTime now, const Go&);
    void happen(HostTime now, const Contact&);
    void happen(HostTime now, const LooksHeld&);
    void happen(HostTime now, const LooksOver&);
    void happen(HostTime now, const SeesLean&);
    void see_attack(HostTime now, Sight sight);
    void begin_attack(HostTime now);
    void follow_advice();
    void give_ground(HostTime now);
    void aim(HostTime now);
    void aim_at(HostTime now, const AttackReader::Window& window);
    void go_at(HostTime when);
    void strike_without_lamp(HostTime now, HostTime contact);
    void see_feint(HostTime now);
    void attack_over(HostTime now);
    [[nodiscard]] bool follows(AdviceKind advice) const { return profile_.follows == advice; }
    [[nodiscard]] Moment moment_to_answer() const;
    [[nodiscard]] double aims_at() const;
    [[nodiscard]] Duration movement_mean() const;
    [[nodiscard]] PadRole choose_pad();
    [[nodiscard]] double tired(double value) const;
    [[nodiscard]] Duration reaction(bool prepared);
    [[nodiscard]] Duration spread(Duration mean, double coefficient_of_variation);

    AthleteProfile profile_;
    Duration patience_, looks_;
    Random random_;
    Body body_;
    AttackReader reader_;
    Agenda<Action> agenda_;
    std::vector<AthleteAct> acts_;

    Mode mode_ = Mode::resting;
    HostTime perceived_until_{};  ///< changes are noticed in order
    LampSet lit_ = 0;             ///< as it looks now, unnoticed or not
    HostTime dark_since_;
    LampSet seen_ = 0;          ///< as noticed
    double form_ = 0;           ///< of the day, standard normal: above 0 slow
    std::int32_t answers_ = 0;  ///< attacks in this set

    // stepping
    std::optional<HostTime> last_entry_;
    bool long_next_ = true;
    bool roaming_ = false;

    // the attack under way
    bool under_attack_ = false;
    Answer answer_ = Answer::none;
    std::uint32_t plan_ = 0;
    double aim_error_ = 0;  ///< this attack's, in SDs
    bool picks_ = false, chases_ = false, impulsive_ = false, chased_ = false;
    HostTime contact_at_{};
    std::int32_t ground_left_ = 0;

    // attacks that come after equal waits
    std::optional<HostTime> last_dark_;  ///< when the last attack's foot came down
    std::vector<double> waits_;          ///< ns, from there to the next lift; the last four

    // what the drill asks beside the strike
    StartKind start_;
    Asks asks_;
    Manners manners_;
    std::int32_t sets_begun_ = 0, beats_ = 0, paces_ = 0;
    bool breaks_ = false;
    std::optional<AttackReader::Window> aimed_in_;

    // what its own steps draw
    std::optional<HostTime> drawn_by_;  ///< the last entry that an attack may answer
    double draws_ = 0.3;                ///< share of entries that an attack answered, as seen so far
    double draw_delay_ = 400e6;         ///< ns, from entry to lift
};

}  // namespace breakstep
