// `demo --term`: an invented term in a new store, played by simulated athletes through the whole chain in virtual time.
#include <fmt/format.h>

#include <algorithm>
#include <ctime>
#include <iostream>
#include <map>
#include <nlohmann/json.hpp>

#include "cli/athletes/shared.hpp"
#include "cli/session_setup.hpp"
#include "club/term/known_prior.hpp"
#include "club/term/term.hpp"
#include "core/iso_date.hpp"
#include "settings/drill_file.hpp"
#include "store/text_rules.hpp"
#include "tools/invented_term.hpp"

namespace breakstep {
namespace {

// Any would do; with this one the pages show most of what they can. Of 100 unchanged athletes of the seeds 1 to 20, 3
// were called improved, where 2.5 are expected.
constexpr std::uint64_t term_seed = 17;
// Four times the work: ten reps are about 40 s.
constexpr Duration juniors_rest = 160s;
constexpr int first_turn_hour = 18, first_turn_minute = 30;

/// What came of it.
struct MadeAthlete {
    Athlete athlete;
    int evenings = 0, sessions = 0;
    std::size_t reps = 0;
};
struct MadeTerm {
    std::vector<InventedAthlete> invented;
    std::vector<MadeAthlete> athletes;  ///< same order
    std::uint64_t seed = 0;
    int weeks = 0;
};

std::chrono::sys_days tuesday(int week) { return first_tuesday + std::chrono::days(7 * week); }

/// Half past six in this machine's hall, whatever its time zone: an evening must stay one evening by its calendar.
std::int64_t evening_begins(int week) {
    const std::chrono::year_month_day date(tuesday(week));
    std::tm parts{};
    parts.tm_year = static_cast<int>(date.year()) - 1900;
    parts.tm_mon = static_cast<int>(static_cast<unsigned>(date.month())) - 1;
    parts.tm_mday = static_cast<int>(static_cast<unsigned>(date.day()));
    parts.tm_hour = first_turn_hour;
    parts.tm_min = first_turn_minute;
    parts.tm_isdst = -1;
    return std::mktime(&parts);
}

/// About how long a turn takes, with the change to the next athlete: only dates and the order of turns hang on it.
std::int64_t turn_seconds(const Drill& drill) {
    const Duration attack = 1s, change = 20s;
    const Duration work = drill.sets * drill.reps * (drill.wait_minimum + drill.wait_extra + attack);
    return std::chrono::duration_cast<std::chrono::seconds>(work + (drill.sets - 1) * drill.rest + change).count();
}

/// Every drill of the term, by name.
using Drills = std::map<std::string, Drill>;
Expected<Drill> drill_of(const InventedTurn& turn, const Settings& settings, Drills& drills) {
    auto known = drills.find(turn.drill);
    if (known == drills.end()) {
        auto loaded = load_drill(turn.drill, settings);
        if (!loaded) return loaded;
        known = drills.emplace(turn.drill, std::move(*loaded)).first;
    }
    Drill drill = known->second;
    if (turn.junior) drill.rest = std::max(drill.rest, juniors_rest);
    return drill;
}

/// Invented athletes among real ones could not be told apart afterwards.
Expected<void> must_be_empty(const Store& store) {
    const auto athletes = store.athletes();
    if (!athletes) return tl::make_unexpected(athletes.error());
    const auto sessions = store.term_sessions();
    if (!sessions) return tl::make_unexpected(sessions.error());
    if (athletes->empty() && sessions->empty()) return {};
    return failure(ErrorKind::bad_input, store.path().string() + " holds athletes or sessions already",
                   "name a new file with --store: an invented term never mixes with anything else");
}

Expected<MadeTerm> add_athletes(Store& store, std::uint64_t seed, int weeks, IdSource& ids) {
    MadeTerm term;
    term.invented = invented_athletes();
    term.seed = seed;
    term.weeks = weeks;
    std::vector<Athlete> entries;
    for (const InventedAthlete& invented : term.invented) {
        MadeAthlete& made = term.athletes.emplace_back();
        made.athlete = invented.entry;
        made.athlete.id = AthleteId{ids.next()};
        made.athlete.added_unix_seconds = evening_begins(0);
        entries.push_back(made.athlete);
    }
    if (auto added = store.add_all(entries, {}); !added) return tl::make_unexpected(added.error());
    return term;
}

/// What an evening needs beside its week.
struct Playing {
    const CommonOptions& options;
    const Settings& settings;
    Store& store;
    Drills& drills;
    IdSource& ids;
    Random& random;
};

Expected<std::vector<PlannedSession>> plan_week(int week, const std::vector<InventedTurn>& turns, const MadeTerm& term,
                                                Playing& playing) {
    std::vector<PlannedSession> sessions;
    std::int64_t begins = evening_begins(week);
    for (const InventedTurn& turn : turns) {
        const auto drill = drill_of(turn, playing.settings, playing.drills);
        if (!drill) return tl::make_unexpected(drill.error());
        const Athlete& athlete = term.athletes[turn.athlete].athlete;
        PlannedSession& planned =
            sessions.emplace_back(plan_session(*drill, playing.settings, athlete, playing.random.next(), playing.ids));
        planned.began.unix_seconds = begins;
        planned.simulated = AthleteSettings::for_drill(turn.profile, *drill, planned.began.seed);
        const auto prior = known_prior(playing.store, athlete.id);
        if (!prior) return tl::make_unexpected(prior.error());
        planned.began.prior = *prior;
        begins += turn_seconds(*drill);
    }
    return sessions;
}

Expected<void> play_week(int week, MadeTerm& term, Playing& playing) {
    const auto turns = turns_of_week(week, playing.random);
    const auto sessions = plan_week(week, turns, term, playing);
    if (!sessions) return tl::make_unexpected(sessions.error());
    const auto reports = run_fast(*sessions, playing.options, playing.settings,
                                  term.seed + static_cast<std::uint64_t>(week), playing.store);
    if (!reports) return tl::make_unexpected(reports.error());
    std::vector<bool> there(term.athletes.size());
    for (std::size_t i = 0; i < turns.size(); ++i) {
        MadeAthlete& made = term.athletes[turns[i].athlete];
        ++made.sessions;
        made.reps += (*reports)[i].reps.size();
        made.evenings += there[turns[i].athlete] ? 0 : 1;
        there[turns[i].athlete] = true;
    }
    // Priors of the next evening are read from what is committed.
    return playing.store.flush();
}

Expected<MadeTerm> make_term(const CommonOptions& options, const Settings& settings, Store& store, std::uint64_t seed,
                             int weeks) {
    if (auto empty = must_be_empty(store); !empty) return tl::make_unexpected(empty.error());
    Drills drills;
    IdSource ids(seed);
    Random random(seed, 0x7E);
    auto term = add_athletes(store, seed, weeks, ids);
    if (!term) return term;
    Playing playing{options, settings, store, drills, ids, random};
    for (int week = 0; week < weeks; ++week) {
        if (auto played = play_week(week, *term, playing); !played) return tl::make_unexpected(played.error());
        std::cerr << fmt::format("week {} of {}: {}\n", week + 1, weeks, date_text(tuesday(week)));
    }
    return term;
}

void print_made(const MadeTerm& term, const std::string& store) {
    const std::string file = shell_word(store);
    std::cout << fmt::format("An invented term: {} Tuesdays, {} to {}, seed {}, in {}\n\n", term.weeks,
                             date_text(tuesday(0)), date_text(tuesday(term.weeks - 1)), term.seed, store);
    std::cout << fmt::format("{:<12}{:<13}{:>8}{:>10}{:>7}  {:<12}{}\n", "athlete", "group", "evenings", "sessions",
                             "reps", "in truth", "rhythm in truth");
    for (std::size_t i = 0; i < term.athletes.size(); ++i) {
        const MadeAthlete& made = term.athletes[i];
        std::cout << fmt::format("{:<12}{:<13}{:>8}{:>10}{:>7}  {:<12}{}\n", made.athlete.call_sign, made.athlete.group,
                                 made.evenings, made.sessions, made.reps, word(term.invented[i].change),
                                 term.invented[i].rhythm);
    }
    std::cout << fmt::format(
        "\nWhat the numbers make of it:\n"
        "  breakstep progress --end-of-term --store {0}\n"
        "  breakstep report athlete Whimbrel --end-of-term --store {0}\n"
        "  breakstep report group --end-of-term --store {0}\n"
        "  breakstep report evening {1} --store {0}\n",
        file, date_text(tuesday(term.weeks - 1)));
}

void print_json(const MadeTerm& term, const std::string& store) {
    nlohmann::ordered_json json;
    json["store"] = store;
    json["seed"] = term.seed;
    json["first_date"] = date_text(tuesday(0));
    json["last_date"] = date_text(tuesday(term.weeks - 1));
    for (std::size_t i = 0; i < term.athletes.size(); ++i) {
        const MadeAthlete& made = term.athletes[i];
        json["athletes"].push_back({{"call_sign", made.athlete.call_sign},
                                    {"group", made.athlete.group},
                                    {"evenings", made.evenings},
                                    {"sessions", made.sessions},
                                    {"reps", made.reps},
                                    {"in_truth", word(term.invented[i].change)},
                                    {"rhythm_in_truth", term.invented[i].rhythm}});
    }
    std::cout << json.dump(2) << "\n";
}

/// A term into the store that the options name.
Expected<MadeTerm> term_into_store(const CommonOptions& options, int weeks, bool& unwritten) {
    auto settings = load_settings(options.settings);
    if (!settings) return tl::make_unexpected(settings.error());
    // The rig is simulated whatever the settings say of the coach's own, and simulated athletes go by the lamps: the
    // sound that nobody hears would be three quarters of the work.
    settings->rig_board.clear();
    settings->sound = false;
    auto store = open_store(options, *settings, StoreMode::inline_writes);
    unwritten = !store;
    if (!store) return tl::make_unexpected(store.error());
    auto term = make_term(options, *settings, **store, options.has_seed ? options.seed : term_seed, weeks);
    unwritten = (*store)->failure().has_value();
    const auto closed = (*store)->close();
    if (term && !closed) return tl::make_unexpected(closed.error());
    return term;
}

}  // namespace

Expected<void> make_term_store(const std::filesystem::path& file) {
    CommonOptions options;
    options.store = file.string();
    constexpr int whole_term = 10;
    bool unwritten = false;
    if (const auto made = term_into_store(options, whole_term, unwritten); !made)
        return tl::make_unexpected(made.error());
    return {};
}

int run_demo_term(const CommonOptions& options, int weeks) {
    if (!options.store)
        return complain({ErrorKind::bad_input, "demo --term keeps what it makes, and no file is named for it",
                         "name a new one: --store FILE"});
    if (!options.capture.empty())
        return complain({ErrorKind::bad_input, "--capture keeps one evening, and a term has ten",
                         "leave it away, or capture a demo without --term"});
    bool unwritten = false;
    const auto term = term_into_store(options, weeks, unwritten);
    if (!term) return unwritten ? complain(term.error(), exit_not_kept) : complain(term.error());
    if (options.json)
        print_json(*term, *options.store);
    else
        print_made(*term, *options.store);
    return exit_done;
}

}  // namespace breakstep
