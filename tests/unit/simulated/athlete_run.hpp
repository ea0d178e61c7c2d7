// Runs an AthleteModel on lamps alone, in virtual time, and collects what it does.
#pragma once

#include <doctest/doctest.h>

#include <cmath>
#include <vector>

#include "core/trade/opponent.hpp"
#include "devices/simulated/athlete_model.hpp"

namespace breakstep::testing {

class AthleteRun {
  public:
    explicit AthleteRun(const AthleteSettings& settings, std::uint64_t opponent_seed = 1)
        : athlete(settings, HostTime(100s)), opponent_random(opponent_seed) {}

    void run_for(Duration time) {
        const HostTime end = now + time;
        while (athlete.next_due() && *athlete.next_due() <= end) {
            now = *athlete.next_due();
            athlete.due(now);
        }
        now = end;
        collect();
    }
    void lamps(LampSet lit) {
        athlete.lamps(now, lit);
        collect();
    }
    /// Ready, and the count once it struck. Returns when the set began.
    HostTime begin_set() {
        const std::size_t before = strikes.size();
        lamps(lamp_bit(LampRole::ready));
        for (int i = 0; i < 100 && strikes.size() == before; ++i) run_for(100ms);
        REQUIRE(strikes.size() == before + 1);
        run_for(500ms);
        for (int k = 1; k <= 3; ++k) {
            lamps(count_lamps(k));
            run_for(700ms);
        }
        lamps(0);
        return now;
    }
    struct Played {
        HostTime lift;
        std::vector<HostTime> begins;  ///< of each phase
        std::vector<AttackPhase> phases;
        HostTime end;
        /// The first strike from the lift to 500 ms after the end.
        std::optional<StrikeAct> strike;
        std::vector<HostTime> entries;  ///< near-mark breaks in that time
        [[nodiscard]] std::optional<Phase> phase_at(HostTime time) const {
            std::optional<Phase> phase;
            for (std::size_t i = 0; i < begins.size(); ++i)
                if (time >= begins[i]) phase = phases[i].phase;
            return time >= end ? Phase::guard : phase;
        }
    };
    Played play(const OpponentSettings& opponent, AttackKind kind) {
        Played played;
        played.lift = now;
        played.phases = draw_attack(opponent, kind, 1, opponent_random);
        const std::size_t strikes_before = strikes.size();
        const std::size_t beams_before = beams.size();
        for (const AttackPhase& phase : played.phases) {
            played.begins.push_back(now);
            lamps(lamps_of(phase.phase));
            run_for(phase.length);
        }
        lamps(0);
        played.end = now;
        run_for(500ms);
        for (std::size_t i = strikes_before; i < strikes.size() && !played.strike; ++i)
            if (strikes[i].at >= played.lift) played.strike = strikes[i];
        for (std::size_t i = beams_before; i < beams.size(); ++i)
            if (beams[i].gate == GateRole::near_mark && beams[i].blocked) played.entries.push_back(beams[i].at);
        return played;
    }
    /// A wait that does not age, then the attack.
    Played play_after_wait(const OpponentSettings& opponent, AttackKind kind) {
        run_for(1200ms + Duration(static_cast<std::int64_t>(opponent_random.exponential(1.5e9))));
        return play(opponent, kind);
    }
    /// First breaks of inward passes of a mark, told as a reader of gates tells them: breaks under 250 ms apart are one
    /// pass, and passes take turns.
    [[nodiscard]] std::vector<HostTime> passes(GateRole gate) const {
        std::vector<HostTime> begins;
        HostTime last{};
        for (const BeamAct& beam : beams) {
            if (beam.gate != gate || !beam.blocked) continue;
            if (beam.at - last >= 250ms) begins.push_back(beam.at);
            last = beam.at;
        }
        return begins;
    }

    AthleteModel athlete;
    Random opponent_random;
    HostTime now = HostTime(100s);
    std::vector<StrikeAct> strikes;
    std::vector<BeamAct> beams;

  private:
    void collect() {
        std::vector<AthleteAct> acts;
        athlete.take_acts(acts);
        for (const AthleteAct& act : acts) {
            if (const auto* strike = std::get_if<StrikeAct>(&act)) strikes.push_back(*strike);
            if (const auto* beam = std::get_if<BeamAct>(&act)) beams.push_back(*beam);
        }
    }
};

inline double milliseconds(Duration time) { return static_cast<double>(time.count()) / 1e6; }

struct Moments {
    double mean = 0, deviation = 0, skew = 0;
};
inline Moments moments(const std::vector<double>& values) {
    Moments result;
    const double n = static_cast<double>(values.size());
    for (const double value : values) result.mean += value / n;
    double square = 0, cube = 0;
    for (const double value : values) {
        const double off = value - result.mean;
        square += off * off / n;
        cube += off * off * off / n;
    }
    result.deviation = std::sqrt(square);
    result.skew = cube / (square * result.deviation);
    return result;
}

/// An athlete that stays at home until an attack comes, and makes none of its mistakes.
inline AthleteProfile still_athlete(Level grade) {
    AthleteProfile profile = typical_athlete(grade);
    profile.habit = {HabitKind::memoryless, 3600s, 0, 360000s, 0};
    profile.lapses = profile.misses = profile.guesses = profile.impulsive = profile.fatigue = profile.times_lifts = 0;
    profile.ground = {1, 0, 0, 0};
    profile.overruns = 0;
    return profile;
}

}  // namespace breakstep::testing
