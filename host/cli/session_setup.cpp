#include "cli/session_setup.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <iostream>

#include "cli/athletes/shared.hpp"
#include "cli/consent/tonight_store.hpp"
#include "club/athletes/naming.hpp"
#include "club/sharing/server_kept.hpp"
#include "core/error.hpp"
#include "core/evening/dose.hpp"
#include "core/trade/junior.hpp"
#include "files/place.hpp"
#include "store/daily_backup.hpp"
#include "store/tonight.hpp"

namespace breakstep {

PlannedSession plan_session(const Drill& written, const Settings& settings, const Athlete& athlete, std::uint64_t seed,
                            IdSource& ids) {
    const Drill drill = as_met_by(written, athlete.lead);
    PlannedSession planned;
    planned.began.session = SessionId{ids.next()};
    planned.began.athlete = athlete.id;
    planned.began.unix_seconds = unix_now();
    planned.began.seed = seed;
    planned.began.athlete_lead = athlete.lead;
    planned.began.drill = drill;
    planned.names.club = settings.club;
    planned.names.athlete = athlete.call_sign;
    planned.names.drill_title = drill.title;
    planned.names.seed = seed;
    planned.names.lift = drill.opponent.lift;
    planned.names.spread = drill.opponent.spread;
    planned.began.opens_video = true;
    planned.names.caution = caution_before_the_first_set();
    planned.names.child = is_child(athlete);
    planned.names.nudged = is_nudged(athlete);
    if (const auto profile = find_athlete(athlete.call_sign))
        planned.simulated = AthleteSettings::for_drill(*profile, drill, seed);
    return planned;
}

Expected<std::map<std::string, LastTime>> last_times(const Store& store, AthleteId athlete) {
    const auto sessions = store.sessions();
    if (!sessions) return tl::make_unexpected(sessions.error());
    std::map<std::string, const SessionSummary*> newest;
    for (const SessionSummary& session : *sessions) {
        if (session.athlete != athlete || session.reps == 0) continue;
        const SessionSummary*& known = newest[session.drill];
        if (known == nullptr || session.number > known->number) known = &session;
    }
    std::map<std::string, LastTime> last;
    for (const auto& [drill, session] : newest) {
        const auto reps = store.reps(session->id);
        if (!reps) return tl::make_unexpected(reps.error());
        last[drill] = last_time_of(*reps);
    }
    return last;
}

void recall(const std::map<std::string, LastTime>& last, const std::string& drill, SceneNames& names) {
    const auto known = last.find(drill);
    names.watch_first = known == last.end();
    if (known != last.end()) names.last_time = known->second;
}

namespace {

/// By the year of birth; who may still be a junior is taken for one, as on their page. 0: not known.
std::int32_t dose_age(const Athlete& athlete) {
    if (!athlete.birth_year) return 0;
    const std::int32_t age = age_this_year(athlete);
    return is_child(athlete) ? std::min(age, junior_under_years - 1) : age;
}

std::string dose_words(const Drill& drill) {
    return fmt::format("{} {} of {}", drill.sets, drill.sets == 1 ? "set" : "sets", drill.reps);
}

}  // namespace

Drill for_age(const Athlete& athlete, const Drill& drill, bool is_shipped) {
    const Drill due = evening::dosed(drill, dose_age(athlete));
    if (due == drill) return drill;
    const std::string name = shown_text(shown(athlete));
    if (!is_shipped) {
        if (dose_words(due) != dose_words(drill))
            std::cerr << fmt::format(
                "{} gets {} where {} of {} are enough by age: a file of your own is given as it is written\n", name,
                dose_words(drill), due.sets, due.reps);
        return drill;
    }
    std::cerr << fmt::format("by {}'s age: {}, {} s of rest after each (the drill's file says {} and {} s)\n", name,
                             dose_words(due), std::chrono::round<std::chrono::seconds>(due.rest).count(),
                             dose_words(drill), std::chrono::round<std::chrono::seconds>(drill.rest).count());
    return due;
}

void warn_if_too_much(const Athlete& athlete, const Drill& drill) {
    if (!athlete.birth_year) return;
    const std::string too_much = too_much_for_a_junior(drill, age_this_year(athlete));
    if (!too_much.empty())
        std::cerr << "for a junior such as " << athlete.call_sign << " this drill is much: " << too_much
                  << " (the drill's file sets them; the coach decides)\n";
}

Expected<Athlete> athlete_in(Store& store, const std::string& call_sign, Side lead, IdSource& ids) {
    auto known = store.find_athlete(call_sign);
    if (!known) return tl::make_unexpected(known.error());
    if (*known) return **known;
    const auto all = store.athletes();
    if (!all) return tl::make_unexpected(all.error());
    const auto is_taken = [&](AthleteId id) {
        return std::any_of(all->begin(), all->end(), [id](const Athlete& other) { return other.id == id; });
    };
    Athlete athlete;
    // A seed that was used before draws the same ids again.
    do athlete.id = AthleteId{ids.next()};
    while (is_taken(athlete.id));
    athlete.call_sign = call_sign;
    athlete.lead = lead;
    athlete.added_unix_seconds = unix_now();
    if (auto added = store.add_athlete(athlete); !added) return tl::make_unexpected(added.error());
    return athlete;
}

EngineSettings engine_settings(const Settings& settings, std::uint64_t seed) {
    EngineSettings engine;
    engine.seed = seed;
    engine.devices.loud_hall = settings.loud_hall;
    if (!settings.rig_board.empty())
        engine.link.board = BoardId{std::strtoull(settings.rig_board.c_str(), nullptr, 16)};
    if (settings.sound_spread != unknown_uncertainty)
        engine.sound_delay = CueDelay{settings.sound_delay, settings.sound_spread};
    if (settings.screen_spread != unknown_uncertainty)
        engine.screen_delay = CueDelay{settings.screen_delay, settings.screen_spread};
    return engine;
}

std::filesystem::path store_path(const CommonOptions& options, const Settings& settings) {
    if (options.store) return *options.store;
    return settings.store.empty() ? default_store() : std::filesystem::path(settings.store);
}

Expected<std::unique_ptr<Store>> open_store(const CommonOptions& options, const Settings& settings, StoreMode mode,
                                            std::function<void()> on_committed) {
    StoreOptions wanted;
    wanted.mode = mode;
    wanted.create_folders = !options.store && settings.store.empty();
    wanted.on_committed = std::move(on_committed);
    if (mode == StoreMode::inline_writes) wanted.inline_commit_records = 64;
    const std::filesystem::path path = store_path(options, settings);
    if (sharing::is_server_url(path.string()))
        return failure(ErrorKind::bad_input, "this needs a store on this computer, and was given a server",
                       "`breakstep fetch --from URL` brings what is there; progress, report and export read it there");
    clear_last_evening(path);
    if (mode != StoreMode::read_only && !options.tonight)
        if (const auto kept = may_be_copied(path); !kept) return tl::make_unexpected(kept.error());
    auto opened = Store::open(path, wanted);
    if (opened || mode != StoreMode::read_only || opened.error().kind != ErrorKind::incompatible) return opened;
    // Of an older version, perhaps: opening it for writing brings it up to date, or says why that can't be.
    StoreOptions once;
    once.mode = StoreMode::inline_writes;
    if (auto updated = Store::open(path, once); !updated) return updated;
    return Store::open(path, wanted);
}

Expected<std::unique_ptr<Store>> open_whole_store(const CommonOptions& options, const Settings& settings) {
    auto store = open_store(options, settings, StoreMode::read_only);
    if (!store) return store;
    if (const auto may = may_be_copied((*store)->path()); !may) return tl::make_unexpected(may.error());
    if (const auto whole = (*store)->verify(cache_folder() / "found-whole"); !whole)
        return tl::make_unexpected(whole.error());
    return store;
}

Expected<std::unique_ptr<Kept>> open_kept(const CommonOptions& options, const Settings& settings) {
    const std::string place = store_path(options, settings).string();
    if (!sharing::is_server_url(place))
        return open_whole_store(options, settings).map([](auto&& store) {
            return std::unique_ptr<Kept>(std::move(store));
        });
    const auto url = sharing::server_url(options.store.value_or(settings.store));
    if (!url) return tl::make_unexpected(url.error());
    return sharing::ServerKept::open(*url).map([](auto&& kept) { return std::unique_ptr<Kept>(std::move(kept)); });
}

void note_made_in(const Kept& kept, const std::filesystem::path& folder) {
    const auto* store = dynamic_cast<const Store*>(&kept);
    if (store == nullptr) {
        std::cerr << "A server does not note that files are put into " << shown_text(folder.string())
                  << ": remember it when an athlete is erased.\n";
        return;
    }
    const auto noted = store->note_made_in(folder);
    if (noted && *noted) return;
    std::cerr << "The store can't be written, so it could not note that files are put into "
              << shown_text(folder.string()) << ": remember it when you erase an athlete.\n";
}

void note_capture(const Store& store, const CommonOptions& options) {
    if (options.capture.empty()) return;
    const std::filesystem::path folder = std::filesystem::path(options.capture).parent_path();
    note_made_in(store, folder.empty() ? "." : folder);
}

Expected<void> capture_may_be_made(const CommonOptions& options) {
    if (options.capture.empty() || !files::is_taken(options.capture)) return {};
    return failure(ErrorKind::bad_input, options.capture + " is there already",
                   "name a new file after --capture: none is overwritten");
}

namespace {

void name_cut_off(Store& store) {
    const auto cut = store.take_cut_off();
    if (!cut) {
        std::cerr << "breakstep: " << cut.error().text() << '\n';
        return;
    }
    if (cut->empty()) return;
    const auto athletes = store.athletes();
    for (const SessionSummary& session : *cut) {
        std::string whose = "nobody";
        if (athletes)
            for (const Athlete& athlete : *athletes)
                if (session.athlete == athlete.id) whose = shown(athlete);
        std::cerr << "session " << session.number << " of " << whose << " (" << session.drill << ", "
                  << local_date(session.began_unix_seconds) << ") was cut off; its " << session.reps
                  << (session.reps == 1 ? " rep is kept" : " reps are kept")
                  << (is_tonight(store.path()) ? " until the evening ends\n" : "\n");
    }
}

}  // namespace

void begin_day(Store& store, bool with_backup) {
    name_cut_off(store);
    if (!with_backup) return;
    const auto backup = back_up_daily(store, local_date(unix_now()));
    if (!backup) std::cerr << "breakstep: today's backup was not made: " << backup.error().text() << '\n';
}

void begin_day(const CommonOptions& options, const Settings& settings) {
    std::error_code problem;
    if (!std::filesystem::exists(store_path(options, settings), problem)) return;
    const auto store = open_store(options, settings, StoreMode::inline_writes);
    if (store)
        begin_day(**store, true);
    else
        std::cerr << "breakstep: " << store.error().text() << '\n';
}

SessionResults results_of(const PlannedSession& planned, const Score& score, std::optional<SessionEnd> how) {
    SessionResults results;
    results.partner = planned.partner;
    if (score.exchange() != nullptr) results.exchange = *score.exchange();
    results.id = planned.began.session;
    results.athlete = planned.names.athlete;
    results.drill = planned.began.drill.name;
    results.title = planned.began.drill.title;
    results.first_or_after = planned.began.drill.asks.first_or_after;
    results.seed = planned.began.seed;
    results.how = how;
    results.reps = score.reps();
    results.totals = score.totals();
    return results;
}

namespace {

void print_results(const std::vector<SessionResults>& sessions, bool json, bool reps) {
    if (json) {
        std::cout << sessions_json(sessions);
        return;
    }
    for (const SessionResults& results : sessions) print_session(std::cout, results, reps);
}

}  // namespace

void print_results(const std::vector<SessionResults>& sessions, bool json) { print_results(sessions, json, true); }

void print_live_results(const std::vector<SessionResults>& sessions, bool json) {
    const bool one_terminal = isatty(STDOUT_FILENO) == 1 && isatty(STDERR_FILENO) == 1;
    print_results(sessions, json, !one_terminal);
}

}  // namespace breakstep
