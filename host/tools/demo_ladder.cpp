#include "tools/demo_ladder.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iostream>
#include <nlohmann/json.hpp>

#include "cli/session_setup.hpp"
#include "core/progress/rungs.hpp"
#include "settings/drill_file.hpp"
#include "settings/next_file.hpp"
#include "store/rep_fact.hpp"
#include "tools/simulated_sessions.hpp"

namespace breakstep {
namespace {

constexpr std::uint64_t ladder_seed = 20261127;
// How far above the mark the others stand, and the scatter of form from evening to evening (of the logarithm of how
// unsteady one's timing is): it moves the rate by about 0.3 on the logit scale.
constexpr double above_by = 0.2, form_scatter = 0.22;
// True rates are measured beforehand, in sessions of their own, of the reps that count: the first set, told nothing.
// (Long sets would measure another rate: an athlete's first reps are worse.)
constexpr int measured_sessions = 150, bisections = 7;
constexpr std::int32_t the_drop = 4, kick_or_feint = 5;

// An athlete whose only limit is how steadily it aims: what a rung's mark is about.
AthleteProfile steady(double timing_ms) {
    AthleteProfile athlete = typical_athlete(Level::intermediate);
    athlete.call_sign = "Knot";
    athlete.timing_ms = timing_ms;
    athlete.timing_share = 0;
    athlete.impulsive = athlete.lapses = athlete.guesses = athlete.wrong_pad = athlete.misses = athlete.fatigue = 0;
    athlete.ground = {1, 0, 0, 0};
    return athlete;
}

// Goes at the first lamp, whatever comes of it, and never stops.
AthleteProfile goes_at_everything() {
    AthleteProfile athlete = typical_athlete(Level::advanced);
    athlete.call_sign = "Ruff";
    athlete.impulsive = 0;
    athlete.picks = 0;
    athlete.stops = 0;
    athlete.lapses = athlete.guesses = 0;
    athlete.chases = 1;
    return athlete;
}

AthleteProfile on_a_day(AthleteProfile athlete, Random& random) {
    athlete.timing_ms *= std::exp(form_scatter * random.normal());
    return athlete;
}

struct Rate {
    std::int32_t hits = 0, of = 0;
    [[nodiscard]] double share() const { return of == 0 ? 0 : static_cast<double>(hits) / of; }
};

Expected<Rate> measured_rate(Drill drill, double timing_ms, std::uint64_t seed) {
    drill.sets = 1;
    Rate rate;
    Random days(seed, 0x64617973);
    SimulatedSessions sessions(seed);
    for (int i = 0; i < measured_sessions; ++i) {
        const auto played = sessions.play(drill, on_a_day(steady(timing_ms), days), days.next(), true);
        if (!played) return tl::make_unexpected(played.error());
        rate.hits += played->totals.on_time;
        rate.of += played->totals.scored;
    }
    return rate;
}

/// How unsteady somebody must be to be on time so often.
Expected<double> timing_for(const Drill& drill, double wanted, std::uint64_t seed) {
    double steady_ms = 5, unsteady_ms = 400;
    for (int i = 0; i < bisections; ++i) {
        const double middle = std::sqrt(steady_ms * unsteady_ms);
        const auto rate = measured_rate(drill, middle, seed);
        if (!rate) return tl::make_unexpected(rate.error());
        (rate->share() > wanted ? steady_ms : unsteady_ms) = middle;
    }
    return unsteady_ms;  // the side on which nobody is better than was asked for
}

struct Climber {
    AthleteProfile profile;
    std::uint64_t seed = 0;
};

struct Climbed {
    bool passed = false;
    std::uint64_t reps = 0;  ///< counted, to the end of the evening on which it passed, or of all
    std::uint64_t on_time = 0, attacks = 0, evenings = 0;  ///< so far
};

Expected<Climbed> climb(const Climber& climber, const Drill& drill, const progress::RungStandard& rung,
                        std::int32_t evenings) {
    progress::RungFold fold(1, {rung});
    SimulatedSessions sessions(climber.seed);
    Random days(climber.seed, 0x666f726d);
    for (std::int32_t evening = 0; evening < evenings; ++evening) {
        const auto played = sessions.play(drill, on_a_day(climber.profile, days), days.next(), evening > 0);
        if (!played) return tl::make_unexpected(played.error());
        progress::SessionFact session;
        session.day = evening;
        session.test = drill.test;
        session.start = drill.start;
        session.stance = drill.stance;
        session.level = drill.level;
        session.drill = drill.name;
        fold.begin(session);
        for (const RepResult& rep : played->reps) fold.add(fact_of(rep));
        const progress::RungStanding standing = fold.standings(0).front();
        if (standing.passed || evening + 1 == evenings)
            return Climbed{standing.passed, standing.reps + standing.feints, standing.on_time, standing.reps,
                           standing.evenings};
    }
    return Climbed{};
}

struct Group {
    std::int32_t athletes = 0, passed = 0;
    std::vector<std::uint64_t> reps_to_pass, evenings_to_pass;
    std::uint64_t on_time = 0, attacks = 0;  ///< counted, of all
    [[nodiscard]] double counted_rate() const {
        return attacks == 0 ? 0 : static_cast<double>(on_time) / static_cast<double>(attacks);
    }
    /// Of those who passed, so many got there in this or less: half, nine in ten.
    [[nodiscard]] static nlohmann::ordered_json share_of(std::vector<std::uint64_t> all, double share) {
        if (all.empty()) return nullptr;
        std::sort(all.begin(), all.end());
        return all[std::min(all.size() - 1, static_cast<std::size_t>(share * static_cast<double>(all.size())))];
    }
};

Expected<Group> climb_all(const AthleteProfile& profile, std::int32_t athletes, const Drill& drill,
                          const progress::RungStandard& rung, std::int32_t evenings, std::uint64_t seed) {
    Group group;
    Random seeds(seed, 0x636c696d62);
    for (std::int32_t i = 0; i < athletes; ++i) {
        const auto climbed = climb({profile, seeds.next()}, drill, rung, evenings);
        if (!climbed) return tl::make_unexpected(climbed.error());
        ++group.athletes;
        group.on_time += climbed->on_time;
        group.attacks += climbed->attacks;
        if (!climbed->passed) continue;
        ++group.passed;
        group.reps_to_pass.push_back(climbed->reps);
        group.evenings_to_pass.push_back(climbed->evenings);
    }
    return group;
}

struct Ladder {
    Drill drop, feints;
    progress::RungStandard drop_rung, feint_rung;
};

Expected<Ladder> load(const Settings& settings) {
    const auto rungs = load_ladder();
    if (!rungs) return tl::make_unexpected(rungs.error());
    Ladder ladder;
    for (const progress::RungStandard& rung : *rungs) {
        if (rung.number == the_drop) ladder.drop_rung = rung;
        if (rung.number == kick_or_feint) ladder.feint_rung = rung;
    }
    if (ladder.drop_rung.drills.empty() || ladder.feint_rung.drills.empty())
        return failure(ErrorKind::not_found, "the ladder has no rung 4 or 5", "put them back into ladder.toml");
    auto drop = load_drill(ladder.drop_rung.drills.front(), settings);
    if (!drop) return tl::make_unexpected(drop.error());
    auto feints = load_drill(ladder.feint_rung.drills.front(), settings);
    if (!feints) return tl::make_unexpected(feints.error());
    ladder.drop = std::move(*drop);
    ladder.feints = std::move(*feints);
    return ladder;
}

struct Figures {
    double at_mark_rate = 0, above_rate = 0;
    Group at_mark, above, guessers;
};

Expected<Figures> figures_of(const Ladder& ladder, const LadderDemo& demo, std::uint64_t seed) {
    const double mark = ladder.drop_rung.mark;
    // A bisection ends beside its aim: who is to be at the mark at most is sought a little below it.
    constexpr double below = 0.01;
    Figures figures;
    std::cerr << "how steady somebody at the mark is, and somebody well above it\n";
    const auto at_mark = timing_for(ladder.drop, mark - below, seed);
    if (!at_mark) return tl::make_unexpected(at_mark.error());
    const auto above = timing_for(ladder.drop, mark + above_by, seed);
    if (!above) return tl::make_unexpected(above.error());
    for (const auto& [timing, rate] : {std::pair(*at_mark, &figures.at_mark_rate), {*above, &figures.above_rate}}) {
        const auto fresh = measured_rate(ladder.drop, timing, seed + 1);
        if (!fresh) return tl::make_unexpected(fresh.error());
        *rate = fresh->share();
    }
    const std::int32_t half = demo.athletes / 2;
    std::cerr << fmt::format("{} evenings of {} athletes at the mark, then {} above it\n", demo.evenings, half,
                             demo.athletes - half);
    const auto low = climb_all(steady(*at_mark), half, ladder.drop, ladder.drop_rung, demo.evenings, seed + 2);
    if (!low) return tl::make_unexpected(low.error());
    const auto high =
        climb_all(steady(*above), demo.athletes - half, ladder.drop, ladder.drop_rung, demo.evenings, seed + 3);
    if (!high) return tl::make_unexpected(high.error());
    std::cerr << "who goes at everything, before the rung with feints\n";
    const auto guess = climb_all(goes_at_everything(), std::max(1, demo.athletes / 5), ladder.feints, ladder.feint_rung,
                                 demo.evenings, seed + 4);
    if (!guess) return tl::make_unexpected(guess.error());
    figures.at_mark = *low;
    figures.above = *high;
    figures.guessers = *guess;
    return figures;
}

}  // namespace

int run_demo_ladder(const CommonOptions& options, const LadderDemo& demo) {
    auto settings = load_settings(options.settings);
    if (!settings) return complain(settings.error());
    const auto ladder = load(*settings);
    if (!ladder) return complain(ladder.error());
    const std::uint64_t seed = options.has_seed ? options.seed : ladder_seed;
    const auto figures = figures_of(*ladder, demo, seed);
    if (!figures) return complain(figures.error());
    const auto reps = Group::share_of(figures->above.reps_to_pass, 0.5);
    if (options.json) {
        nlohmann::ordered_json json;
        json["seed"] = seed;
        json["rung"] = ladder->drop_rung.number;
        json["mark"] = ladder->drop_rung.mark;
        json["evenings"] = demo.evenings;
        json["athletes"] = figures->at_mark.athletes + figures->above.athletes;
        json["passed"] = figures->at_mark.passed + figures->above.passed;
        json["false_passes"] = figures->at_mark.passed;
        json["reps_to_pass"] = reps;
        json["reps_to_pass_nine_in_ten"] = Group::share_of(figures->above.reps_to_pass, 0.9);
        json["evenings_to_pass"] = Group::share_of(figures->above.evenings_to_pass, 0.5);
        json["at_the_mark"] = {{"athletes", figures->at_mark.athletes},
                               {"true_rate", figures->at_mark_rate},
                               {"counted_rate", figures->at_mark.counted_rate()},
                               {"passed", figures->at_mark.passed}};
        json["above_it"] = {{"athletes", figures->above.athletes},
                            {"true_rate", figures->above_rate},
                            {"counted_rate", figures->above.counted_rate()},
                            {"passed", figures->above.passed}};
        json["goes_at_everything"] = {{"athletes", figures->guessers.athletes},
                                      {"passed_the_rung_with_feints", figures->guessers.passed}};
        std::cout << json.dump() << '\n';
    } else {
        std::cout << fmt::format(
            "rung {}, {}: the mark is {:.2f}; {} evenings, seed {}\n"
            "at the mark ({:.3f} on time in truth): {} of {} passed by luck\n"
            "above it ({:.3f}): {} of {} passed, half of them within {} counted reps\n"
            "who goes at everything: {} of {} passed rung {}, which has feints\n",
            ladder->drop_rung.number, ladder->drop_rung.name, ladder->drop_rung.mark, demo.evenings, seed,
            figures->at_mark_rate, figures->at_mark.passed, figures->at_mark.athletes, figures->above_rate,
            figures->above.passed, figures->above.athletes,
            reps.is_null() ? std::uint64_t{0} : reps.get<std::uint64_t>(), figures->guessers.passed,
            figures->guessers.athletes, ladder->feint_rung.number);
    }
    // Of so many who are at the mark one in twenty passes at most; three standard errors more are luck.
    const auto at_most = [](std::int32_t of) { return 0.05 * of + 3 * std::sqrt(0.05 * 0.95 * of); };
    const bool kept = figures->at_mark.passed <= at_most(figures->at_mark.athletes) &&
                      figures->guessers.passed <= at_most(figures->guessers.athletes);
    return kept ? exit_done : exit_failed;
}

}  // namespace breakstep
