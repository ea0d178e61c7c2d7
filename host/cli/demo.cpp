#include <cstdlib>
#include <iostream>

#include "cli/session_setup.hpp"
#include "settings/drill_file.hpp"

namespace breakstep {
namespace {

// Heron keeps a beat that can be timed, Curlew keeps none: the first is told, the second is not.
struct Turn {
    const char* athlete;
    const char* drill;
};
constexpr Turn evening[] = {{"Heron", "drop-of-a-single-kick"},
                            {"Curlew", "drop-of-a-single-kick"},
                            {"Lapwing", "feints"},
                            {"Dunlin", "linked-techniques"}};
constexpr std::uint64_t demo_seed = 11;

// In real time nobody wants to watch a whole evening: two minutes in which each of the stage's screens is seen. Heron
// rests once; Egret reads an opponent that leans before it kicks.
struct WatchedTurn {
    Turn turn;
    std::int32_t sets, reps;
};
constexpr WatchedTurn watched_evening[] = {
    {{"Heron", "drop-of-a-single-kick"}, 2, 4}, {{"Curlew", "feints"}, 1, 4}, {{"Egret", "meeting-the-lift"}, 1, 5}};
constexpr Duration watched_rest = 8s;
// So long a simulated athlete looks at its task: the attack is watched once, slowly, first.
constexpr Duration looks_at_the_task = 8s;

std::vector<WatchedTurn> turns_of(bool fast) {
    if (!fast) return {std::begin(watched_evening), std::end(watched_evening)};
    std::vector<WatchedTurn> turns;
    for (const Turn& turn : evening) turns.push_back({turn, 0, 0});
    return turns;
}

bool has_display() {
    for (const char* variable : {"DISPLAY", "WAYLAND_DISPLAY", "SDL_VIDEODRIVER"})
        if (const char* value = std::getenv(variable); value != nullptr && *value != '\0') return true;
    return false;
}

Expected<std::vector<PlannedSession>> plan_evening(const CommonOptions& options, const Settings& settings, Store& store,
                                                   std::uint64_t seed) {
    IdSource ids(seed);
    std::vector<PlannedSession> sessions;
    for (const auto& [turn, sets, reps] : turns_of(options.fast)) {
        auto drill = load_drill(turn.drill, settings);
        if (!drill) return tl::make_unexpected(drill.error());
        if (!options.fast) {
            drill->sets = sets;
            drill->reps = reps;
            drill->rest = watched_rest;
        }
        const auto profile = find_athlete(turn.athlete);
        auto athlete = athlete_in(store, turn.athlete, profile ? profile->lead : Side::right, ids);
        if (!athlete) return tl::make_unexpected(athlete.error());
        PlannedSession& planned =
            sessions.emplace_back(plan_session(*drill, settings, *athlete, seed + sessions.size(), ids));
        planned.began.opens_video = sessions.size() == 1;  // one flash opens an evening
        planned.names.watch_first = !options.fast;
        if (!options.fast && planned.simulated) planned.simulated->looks = looks_at_the_task;
        // A demo may be played again with the same seed into the same store.
        auto known = store.find_session(id_text(sessions.back().began.session));
        while (known) {
            sessions.back().began.session = SessionId{ids.next()};
            known = store.find_session(id_text(sessions.back().began.session));
        }
    }
    return sessions;
}

}  // namespace

int run_demo(const CommonOptions& given) {
    CommonOptions options = given;
    const auto settings = load_settings(options.settings);
    if (!settings) return complain(settings.error());
    if (!options.fast && !options.headless && !has_display()) {
        std::cerr << "no display here, so there is no stage to watch: the evening is played at full speed "
                     "(--headless plays it in real time)\n";
        options.fast = true;
    }
    const std::uint64_t seed = options.has_seed ? options.seed : demo_seed;
    // Without a store named, a demo leaves nothing behind.
    const bool keep = options.store.has_value();
    const std::filesystem::path passing =
        std::filesystem::temp_directory_path() / ("breakstep-demo-" + std::to_string(IdSource({}).next()) + ".db");
    if (!keep) options.store = passing.string();
    int code = exit_done;
    {
        auto store = open_store(options, *settings, StoreMode::inline_writes);
        if (!store) return complain(store.error(), exit_not_kept);
        const auto sessions = plan_evening(options, *settings, **store, seed);
        if (!sessions) {
            code = complain(sessions.error());
        } else if (options.fast) {
            if (keep) note_capture(**store, options);
            const auto results = run_fast(*sessions, options, *settings, seed, **store);
            const bool unwritten = (*store)->failure().has_value();
            const auto closed = (*store)->close();
            if (!results)
                code = unwritten ? complain(results.error(), exit_not_kept) : complain(results.error());
            else if (!closed)
                code = complain(closed.error(), exit_not_kept);
            else
                print_results(*results, options.json);
        } else {
            store->reset();
            const LiveRun run = run_live(*sessions, options, *settings, seed, "simulated");
            if (run.results)
                print_live_results(*run.results, options.json);
            else
                code = complain(run.results.error(), run.code);
        }
    }
    if (!keep)
        for (const char* suffix : {"", "-wal", "-shm", ".lock"}) {
            std::error_code ignored;
            std::filesystem::remove(passing.string() + suffix, ignored);
        }
    return code;
}

}  // namespace breakstep
