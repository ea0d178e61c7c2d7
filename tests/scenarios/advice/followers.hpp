// Simulated athletes with a fault each, and the same athletes doing what the advice for it says: whole sessions through
// the fast driver, in pairs with the same seeds.
#pragma once

#include <cmath>
#include <functional>
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include "hall/scene/advice.hpp"
#include "settings/drill_file.hpp"
#include "support/fast_run.hpp"

namespace breakstep::testing {

struct Session {
    std::vector<RepResult> reps;
    SessionTotals totals;
};

struct AdviceCase {
    AdviceKind advice{};
    const char* drill = "";
    const char* fault = "";                    ///< in a coach's words
    std::function<void(AthleteProfile&)> has;  ///< gives the athlete the fault
    const char* about = "";                    ///< what the advice is about
    bool more_is_better = false;
    std::function<double(const Session&)> measured;  ///< of a session, 0 .. 1
    std::function<void(Drill&)> adjust = nullptr;
};

inline double share(const std::vector<RepResult>& reps, const std::function<bool(const RepResult&)>& of,
                    const std::function<bool(const RepResult&)>& is) {
    int hits = 0, all = 0;
    for (const RepResult& rep : reps) {
        if (!of(rep)) continue;
        ++all;
        hits += is(rep) ? 1 : 0;
    }
    return all == 0 ? 0 : static_cast<double>(hits) / all;
}
inline bool is_scored(const RepResult& rep) { return rep.scored; }
inline bool is_on_time(const RepResult& rep) {
    return rep.verdict == Verdict::on_time || rep.verdict == Verdict::around;
}
inline double on_time(const Session& session) { return share(session.reps, is_scored, is_on_time); }
inline std::function<double(const Session&)> share_of(Verdict verdict) {
    return [verdict](const Session& session) {
        return share(session.reps, is_scored, [verdict](const RepResult& rep) { return rep.verdict == verdict; });
    };
}
inline double feints_taken(const Session& session) {
    return share(
        session.reps, [](const RepResult& rep) { return rep.asked.kind == AttackKind::feint && !rep.catch_trial; },
        [](const RepResult& rep) { return rep.verdict == Verdict::took_the_feint; });
}
inline double before_it_moved(const Session& session) {
    return share(
        session.reps, [](const RepResult&) { return true; },
        [](const RepResult& rep) {
            const bool nothing_came = rep.catch_trial && rep.verdict == Verdict::took_the_feint;
            return nothing_came || (rep.verdict == Verdict::early && rep.contact_from_onset < Duration{});
        });
}
inline std::function<double(const Session&)> stood_at(Zone zone) {
    return [zone](const Session& session) {
        return share(
            session.reps, [](const RepResult& rep) { return !rep.catch_trial; },
            [zone](const RepResult& rep) { return rep.stood == zone; });
    };
}
inline double came_by_itself(const Session& session) {
    return share(
        session.reps, [](const RepResult& rep) { return !rep.catch_trial; },
        [](const RepResult& rep) { return rep.drew_by == DrewBy::nothing; });
}
inline double gave_more(const Session& session) {
    return share(
        session.reps, [](const RepResult& rep) { return rep.drew_by == DrewBy::ground_given_twice; },
        [](const RepResult& rep) { return rep.gave > 0; });
}
inline double stayed_in_reach(const Session& session) {
    return share(
        session.reps, [](const RepResult& rep) { return rep.out_in_time.has_value(); },
        [](const RepResult& rep) { return !*rep.out_in_time; });
}
inline double one_alone(const Session& session) {
    return share(
        session.reps, [](const RepResult& rep) { return rep.followed_up.has_value(); },
        [](const RepResult& rep) { return !*rep.followed_up; });
}
inline double on_the_line(const Session& session) {
    return share(
        session.reps, [](const RepResult& rep) { return rep.off_line.has_value(); },
        [](const RepResult& rep) { return !*rep.off_line; });
}
inline double can_be_timed(const Session& session) { return session.totals.sign == Sign::none ? 0 : 1; }

inline Drill drill_of(const AdviceCase& one) {
    auto drill = load_drill(one.drill, {});
    REQUIRE_MESSAGE(drill.has_value(), one.drill);
    drill->rest = 5s;  // what happens between sets is nobody's advice
    if (one.adjust) one.adjust(*drill);
    return *drill;
}

inline Session played(const AthleteProfile& profile, const Drill& drill, std::uint64_t seed) {
    FastRun run(seed);
    run.target.set_athlete(run.driver.now(), AthleteSettings::for_drill(profile, drill, seed));
    const auto how = run.run(drill, seed);
    REQUIRE(how.has_value());
    REQUIRE(*how == SessionEnd::finished);
    return {run.score().reps(), run.score().totals()};
}

/// A difference of pairs, with its standard error.
struct Gain {
    double without = 0, with = 0, error = 0;
    [[nodiscard]] double change() const { return with - without; }
};
inline Gain gain(const std::vector<double>& without, const std::vector<double>& with) {
    Gain all;
    const auto n = static_cast<double>(without.size());
    for (std::size_t i = 0; i < without.size(); ++i) {
        all.without += without[i] / n;
        all.with += with[i] / n;
    }
    double squares = 0;
    for (std::size_t i = 0; i < without.size(); ++i) {
        const double off = with[i] - without[i] - all.change();
        squares += off * off;
    }
    all.error = std::sqrt(squares / (n * (n - 1)));
    return all;
}

struct Followed {
    Gain about, on_time;
    int sets = 0, said = 0;  ///< sets of the athlete with the fault, and those after which the advice was given
};

inline Followed followed(const AdviceCase& one, int sessions, std::uint64_t first_seed) {
    const Drill drill = drill_of(one);
    AthleteProfile faulty = typical_athlete(Level::intermediate);
    one.has(faulty);
    AthleteProfile follower = faulty;
    follower.follows = one.advice;
    Followed result;
    std::vector<double> about[2], hits[2];
    for (int i = 0; i < sessions; ++i) {
        const std::uint64_t seed = first_seed + static_cast<std::uint64_t>(i);
        for (const bool follows : {false, true}) {
            const Session session = played(follows ? follower : faulty, drill, seed);
            about[follows ? 1 : 0].push_back(one.measured(session));
            hits[follows ? 1 : 0].push_back(on_time(session));
            if (follows) continue;
            for (int set = 0; set < drill.sets; ++set) {
                std::vector<RepResult> reps;
                for (const RepResult& rep : session.reps)
                    if (rep.set == set) reps.push_back(rep);
                ++result.sets;
                result.said += advice_of(reps, session.totals.sign, drill.start).kind == one.advice ? 1 : 0;
            }
        }
    }
    result.about = gain(about[0], about[1]);
    result.on_time = gain(hits[0], hits[1]);
    return result;
}

}  // namespace breakstep::testing
