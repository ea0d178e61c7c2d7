// What demo, drill and rescore share: opening the store, making sessions, running them fast or live. Main thread.
#pragma once

#include <filesystem>
#include <functional>
#include <map>
#include <memory>
#include <string>
#include <vector>

#include "cli/commands.hpp"
#include "club/results/results.hpp"
#include "devices/simulated/simulated_target.hpp"
#include "hall/drivers/driver_core.hpp"
#include "settings/drill_file.hpp"
#include "settings/settings.hpp"
#include "store/id_source.hpp"
#include "store/store.hpp"

namespace breakstep {

/// One session to be run: who, what, and (in a simulation) with which athlete's model.
struct PlannedSession {
    SessionBegan began;
    SceneNames names;
    std::optional<AthleteSettings> simulated;
    std::string partner{};  ///< call-sign; "" without one
    std::optional<PartnerSettings> simulated_partner{};
};

[[nodiscard]] PlannedSession plan_session(const Drill& drill, const Settings& settings, const Athlete& athlete,
                                          std::uint64_t seed, IdSource& ids);
/// How the athlete's last time of each drill went, by the drill's name; a drill that is not in it would be the first.
[[nodiscard]] Expected<std::map<std::string, LastTime>> last_times(const Store& store, AthleteId athlete);
/// Whether it is the first time, and how the last one went.
void recall(const std::map<std::string, LastTime>& last, const std::string& drill, SceneNames& names);
/// The athlete of this call-sign, added to the store if new.
[[nodiscard]] Expected<Athlete> athlete_in(Store& store, const std::string& call_sign, Side lead, IdSource& ids);

/// A drill that came with the program, with the reps, sets and rest of the athlete's age, which is said on stderr. A
/// file of the coach's own is given as it is written, and a test always.
[[nodiscard]] Drill for_age(const Athlete& athlete, const Drill& drill, bool is_shipped);
/// Says on stderr what of the drill is too much for a junior, if the athlete's birth year is known.
void warn_if_too_much(const Athlete& athlete, const Drill& drill);

[[nodiscard]] EngineSettings engine_settings(const Settings& settings, std::uint64_t seed);
/// The newest calibration of each device in the store, unless the settings say a delay themselves; "" for none.
void use_calibrations(const Store& store, const std::string& sound_device, const std::string& screen,
                      EngineSettings& engine);
[[nodiscard]] std::filesystem::path store_path(const CommonOptions& options, const Settings& settings);
[[nodiscard]] Expected<std::unique_ptr<Store>> open_store(const CommonOptions& options, const Settings& settings,
                                                          StoreMode mode, std::function<void()> on_committed = {});

[[nodiscard]] SessionResults results_of(const PlannedSession& planned, const Score& score,
                                        std::optional<SessionEnd> how);
void print_results(const std::vector<SessionResults>& sessions, bool json);
/// As print_results, after a live run, which told each rep on the standard error: not again on the same terminal.
void print_live_results(const std::vector<SessionResults>& sessions, bool json);

/// Runs the sessions in virtual time on one simulated target; `store` must write inline.
[[nodiscard]] Expected<std::vector<SessionResults>> run_fast(const std::vector<PlannedSession>& sessions,
                                                             const CommonOptions& options, const Settings& settings,
                                                             std::uint64_t seed, Journal& journal);

/// Notes in the store that something of its athletes is put into the folder, so that erasing looks there; says so on
/// stderr where the store can't be written.
void note_made_in(const Kept& store, const std::filesystem::path& folder);

/// The same for the folder of a capture, if one is wanted.
void note_capture(const Store& store, const CommonOptions& options);

/// Asked before anything else is done: a capture never takes the place of a file. Fails (bad_input).
[[nodiscard]] Expected<void> capture_may_be_made(const CommonOptions& options);

/// What comes before the day's first session: sessions that were cut off are named, once, and the daily backup is made
/// if `with_backup`. What fails is said on stderr; the session is not held up.
void begin_day(Store& store, bool with_backup);
/// The same for the store that the options name, if it is there.
void begin_day(const CommonOptions& options, const Settings& settings);

/// Opens the store for reading results out of it, after a look at whether it is what was written (remembered while it
/// does not change).
[[nodiscard]] Expected<std::unique_ptr<Store>> open_whole_store(const CommonOptions& options, const Settings& settings);

/// The same, or a club's server where the store's place is one's address (exchange/server_url.hpp).
[[nodiscard]] Expected<std::unique_ptr<Kept>> open_kept(const CommonOptions& options, const Settings& settings);

/// Says on stderr which drill files could not be used.
void tell_unusable(const DrillList& list);

struct LiveRun {
    Expected<std::vector<SessionResults>> results;
    ExitCode code = exit_done;  ///< if results is an error
};
/// Runs them in real time. `port` "simulated" starts a simulated rig on a pty, "" looks for a rig.
[[nodiscard]] LiveRun run_live(const std::vector<PlannedSession>& sessions, const CommonOptions& options,
                               const Settings& settings, std::uint64_t seed, const std::string& port);

}  // namespace breakstep
