// The table of drills against athletes: who differs in one thing, before the drill that is made to tell it.
#include <fmt/format.h>

#include <array>
#include <cmath>
#include <functional>
#include <iostream>
#include <nlohmann/json.hpp>

#include "cli/session_setup.hpp"
#include "core/reading/timeable_index.hpp"
#include "settings/drill_file.hpp"
#include "tools/demo_ladder.hpp"
#include "tools/simulated_sessions.hpp"

namespace breakstep {
namespace {

constexpr std::uint64_t table_seed = 20261127;

AthleteProfile plain() {
    AthleteProfile athlete = typical_athlete(Level::intermediate);
    athlete.impulsive = athlete.guesses = athlete.lapses = 0;
    athlete.picks = 1;
    athlete.stops = 0.8;
    athlete.ground = {1, 0, 0, 0};
    athlete.wrong_pad = 0;
    return athlete;
}

struct Kind {
    const char* words;
    AthleteProfile profile;
};

std::vector<Kind> kinds() {
    std::vector<Kind> all;
    const auto add = [&](const char* words) -> AthleteProfile& {
        return all.emplace_back(Kind{words, plain()}).profile;
    };
    add("reacts").waits_for_the_line = true;
    add("picks");
    add("guesses").impulsive = 1;
    all.back().profile.stops = 0;
    add("crowds").crowds = 0.85;
    all.back().profile.habit.beat = 500ms;
    add("runs away").ground = {0, 0, 0, 1};
    add("beats time").habit = {HabitKind::metronome, 1100ms, 0.06, 680ms, 0.0};
    add("sets up").breaks_beat = 0.95;
    add("never leaves").stays_after = 0.95;
    // Only who sets up sets a beat where one is asked for.
    for (Kind& each : all) each.profile.sets_beats = std::string_view(each.words) == "sets up";
    return all;
}

struct Counted {
    std::uint64_t hits = 0, of = 0;
    [[nodiscard]] bool above(double border) const { return of > 0 && reading::wilson(hits, of, 1.959964).low > border; }
    [[nodiscard]] bool below(double border) const {
        return of > 0 && reading::wilson(hits, of, 1.959964).high < border;
    }
};

Counted count(const PlayedSession& played, const std::function<std::optional<bool>(const RepResult&)>& is) {
    Counted counted;
    for (const RepResult& rep : played.reps) {
        if (rep.verdict == Verdict::void_rep) continue;
        const auto one = is(rep);
        if (!one) continue;
        ++counted.of;
        counted.hits += *one ? 1 : 0;
    }
    return counted;
}

/// A drill, and what it tells of a session: yes or no.
struct Teller {
    const char* drill;
    std::int32_t reps;  ///< a set
    const char* tells;  ///< of whom
    const char* words;
    bool (*yes)(const PlayedSession&);
};

bool is_attack(const RepResult& rep) { return !rep.catch_trial && !was_feint(rep); }

// Who goes at anything does not pick, and who never answers shows nothing; all the others hold on feints and answer.
bool true_of(const Teller& teller, std::string_view kind) {
    if (std::string_view(teller.tells) == "picks") return kind != "guesses" && kind != "runs away";
    return kind == teller.tells;
}

const std::array tellers{
    Teller{"drop-of-a-single-kick", 20, "reacts", "most answers come when the foot is down again",
           [](const PlayedSession& played) {
               return count(played,
                            [](const RepResult& rep) -> std::optional<bool> {
                                if (!rep.scored) return std::nullopt;
                                return rep.verdict == Verdict::late;
                            })
                   .above(0.5);
           }},
    Teller{"feints", 30, "picks", "goes on what it sees",
           [](const PlayedSession& played) { return played.totals.d_prime_low && *played.totals.d_prime_low > 1; }},
    Teller{"feints", 30, "guesses", "goes on anything",
           [](const PlayedSession& played) {
               return count(played,
                            [](const RepResult& rep) -> std::optional<bool> {
                                if (rep.catch_trial || !was_feint(rep)) return std::nullopt;
                                return rep.contacted;
                            })
                   .above(0.5);
           }},
    Teller{"in-and-out", 20, "crowds", "inside while the leg is up",
           [](const PlayedSession& played) {
               return count(played,
                            [](const RepResult& rep) -> std::optional<bool> {
                                if (!is_attack(rep)) return std::nullopt;
                                return rep.verdict == Verdict::got_hit;
                            })
                   .above(0.4);
           }},
    Teller{"gap-of-a-single-kick", 20, "runs away", "answers by giving ground",
           [](const PlayedSession& played) {
               return count(played,
                            [](const RepResult& rep) -> std::optional<bool> {
                                if (!is_attack(rep)) return std::nullopt;
                                return rep.retreated;
                            })
                   .above(0.4);
           }},
    Teller{"drop-of-a-single-kick", 20, "beats time", "can be timed: yes",
           [](const PlayedSession& played) { return played.totals.sign == Sign::tell; }},
    Teller{"lure", 8, "sets up", "beats set, followed and broken",
           [](const PlayedSession& played) {
               return count(played,
                            [](const RepResult& rep) -> std::optional<bool> {
                                if (!rep.lure.played) return std::nullopt;
                                return rep.lure.readable && rep.lure.broken;
                            })
                   .above(0.3);
           }},
    Teller{"leave-the-drop", 20, "never leaves", "still inside after the answer",
           [](const PlayedSession& played) {
               return count(played, [](const RepResult& rep) -> std::optional<bool> { return rep.out_in_time; })
                   .below(0.5);
           }},
};

Expected<double> share_told(const Teller& teller, const Drill& drill, const AthleteProfile& profile,
                            std::int32_t sessions, std::uint64_t seed) {
    SimulatedSessions played(seed);
    Random seeds(seed, 0x61706172);
    std::int32_t told = 0;
    for (std::int32_t i = 0; i < sessions; ++i) {
        const auto one = played.play(drill, profile, seeds.next(), true);
        if (!one) return tl::make_unexpected(one.error());
        told += teller.yes(*one) ? 1 : 0;
    }
    return static_cast<double>(told) / sessions;
}

}  // namespace

int run_told_apart(const CommonOptions& options, const LadderDemo& demo) {
    auto settings = load_settings(options.settings);
    if (!settings) return complain(settings.error());
    const std::uint64_t seed = options.has_seed ? options.seed : table_seed;
    const std::vector<Kind> athletes = kinds();
    nlohmann::ordered_json rows = nlohmann::ordered_json::array();
    if (!options.json) {
        std::cout << fmt::format(
            "{} sessions a cell, seed {}: share of sessions in which the drill tells it; of whom it is true in "
            "**bold**\n\n| drill | tells |",
            demo.sessions, seed);
        for (const Kind& kind : athletes) std::cout << ' ' << kind.words << " |";
        std::cout << "\n| --- | --- |";
        for (std::size_t i = 0; i < athletes.size(); ++i) std::cout << " --- |";
        std::cout << '\n' << std::flush;
    }
    bool right = true;
    for (const Teller& teller : tellers) {
        auto drill = load_drill(teller.drill, *settings);
        if (!drill) return complain(drill.error());
        if (teller.reps > 0) drill->reps = teller.reps;
        nlohmann::ordered_json row{{"drill", teller.drill}, {"tells", teller.tells}, {"words", teller.words}};
        if (!options.json) std::cout << fmt::format("| {} | {}: {} |", teller.drill, teller.tells, teller.words);
        for (const Kind& kind : athletes) {
            const auto share = share_told(teller, *drill, kind.profile, demo.sessions, seed);
            if (!share) return complain(share.error());
            const bool own = true_of(teller, kind.words);
            right = right && (own ? *share >= 0.8 : *share <= 0.05);
            row["share"][kind.words] = *share;
            if (!options.json)
                std::cout << fmt::format(" {}{:.2f}{} |", own ? "**" : "", *share, own ? "**" : "") << std::flush;
        }
        if (!options.json) std::cout << '\n' << std::flush;
        rows.push_back(std::move(row));
    }
    if (options.json)
        std::cout << nlohmann::ordered_json{{"seed", seed}, {"sessions", demo.sessions}, {"rows", rows}}.dump() << '\n';
    return right ? exit_done : exit_failed;
}

}  // namespace breakstep
