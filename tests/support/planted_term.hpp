// A term written straight into a store, without any rig: sessions, reps and totals whose truth is known. For tests and
// benchmarks of what reads a term.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "core/random.hpp"
#include "store/store.hpp"

namespace breakstep::testing {

struct PlantedTerm {
    int athletes = 30, sessions = 40, reps = 60;
    std::uint64_t seed = 1;
    int days_between = 3;
    std::int64_t first_unix_seconds = 1'788'370'200;  ///< 2026-09-02 17:30 UTC
    double first_rate = .4, last_rate = .7;           ///< on time, of every second athlete; the others keep the first
};

inline std::string planted_name(int athlete) { return "Bird " + std::to_string(100 + athlete); }

inline RepResult planted_rep(int index, int reps, double rate, Random& random) {
    RepResult rep;
    rep.rep = RepId{index};
    rep.set = index / 20;
    rep.number = index % 20 + 1;
    const bool feint = index % 6 == 5;
    rep.asked.kind = feint ? AttackKind::feint : index % 3 == 0 ? AttackKind::carry : AttackKind::single;
    rep.asked.moment = index * 3 < reps ? Moment::gap : Moment::drop;
    rep.contacted = feint ? random.chance(.2) : random.chance(.95);
    const bool hit = random.chance(rate);
    rep.verdict = feint           ? rep.contacted ? Verdict::took_the_feint : Verdict::held
                  : hit           ? Verdict::on_time
                  : rep.contacted ? Verdict::clash
                                  : Verdict::missed;
    if (hit && !feint) rep.contacted = true;
    rep.scored = !feint;
    rep.retreated = !rep.contacted && random.chance(.5);
    if (rep.contacted && !feint) {
        rep.latency = Duration(static_cast<std::int64_t>(90e6 + 40e6 * random.normal()));
        rep.error = *rep.latency - 80ms;
        rep.uncertainty = 400us;
        rep.contact_from_onset = *rep.latency + 500ms;
    }
    rep.phases = {{Phase::lift, false, 140ms},
                  {Phase::up, false, 220ms},
                  {Phase::pull_back, false, 180ms},
                  {Phase::drop, false, 160ms},
                  {Phase::gap, false, 250ms}};
    return rep;
}

inline void plant_session(Store& store, const PlantedTerm& wanted, AthleteId athlete, int index, int session,
                          Random& random) {
    SessionBegan began;
    began.session = SessionId{random.next() | 1U};
    began.athlete = athlete;
    began.unix_seconds = wanted.first_unix_seconds + session * wanted.days_between * 86'400LL + index * 300;
    began.drill.name = session % 2 == 0 ? "test-drop" : "drop-of-a-single-kick";
    began.drill.test = session % 2 == 0;
    const double way = wanted.sessions > 1 ? static_cast<double>(session) / (wanted.sessions - 1) : 0;
    const double rate = wanted.first_rate + (index % 2 == 0 ? way * (wanted.last_rate - wanted.first_rate) : 0);
    const JournalRecord first{0, HostTime(0ns), began};
    const JournalRecord last{1, HostTime(1s), SessionEnded{SessionEnd::finished}};
    store.append(began.session, std::span(&first, 1));
    SessionTotals totals;
    totals.reps = wanted.reps;
    totals.windows = wanted.reps / 2;
    totals.caught = index % 3 == 0 ? wanted.reps / 3 : wanted.reps / 8;
    totals.caught_by_chance = wanted.reps / 8.0;
    totals.wealth = index % 3 == 0 ? 4 : .5;
    for (int i = 0; i < wanted.reps; ++i) store.keep(began.session, planted_rep(i, wanted.reps, rate, random));
    store.keep_totals(began.session, totals);
    store.append(began.session, std::span(&last, 1));
}

/// Into an empty store that writes inline; commits at its end. Returns the athletes' ids in order of their names.
inline std::vector<AthleteId> plant(Store& store, const PlantedTerm& wanted) {
    Random random(wanted.seed);
    std::vector<AthleteId> ids;
    for (int i = 0; i < wanted.athletes; ++i) {
        Athlete athlete;
        athlete.id = AthleteId{random.next() | 1U};
        athlete.call_sign = planted_name(i);
        athlete.group = i % 2 == 0 ? "Tuesday" : "Thursday";
        if (const auto added = store.add_athlete(athlete); !added) return {};
        ids.push_back(athlete.id);
    }
    for (int session = 0; session < wanted.sessions; ++session)
        for (int i = 0; i < wanted.athletes; ++i)
            plant_session(store, wanted, ids[static_cast<std::size_t>(i)], i, session, random);
    if (const auto flushed = store.flush(); !flushed || store.counters().reps_refused > 0) return {};
    return ids;
}

}  // namespace breakstep::testing
