// The program's commands. command_line.cpp turns what was typed into these options; each command prints its results to
// stdout, everything else to stderr, and returns the exit code. Main thread.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "core/error.hpp"
#include "core/trade/drill.hpp"
#include "core/trade/pairs.hpp"
#include "devices/stage/draw_stage.hpp"

namespace breakstep {

/// 0: done. The others say what kind of trouble it was, so that a script can tell.
enum ExitCode : int {
    exit_done = 0,
    exit_failed = 1,     ///< something that should work did not (a device, the system)
    exit_bad_input = 2,  ///< what was typed, or a file that was named, can't be used
    exit_no_rig = 3,     ///< no rig, or one that can't be used
    exit_not_kept = 4,   ///< the store can't be opened or written
};

/// Prints "breakstep: WHAT; TO DO." to stderr and gives the code for its kind.
[[nodiscard]] int complain(const Error& error);
/// The same for errors about the store or the rig.
[[nodiscard]] int complain(const Error& error, ExitCode code);
/// Of a store that was to be written: what was named, or whether it can be.
[[nodiscard]] int complain_of_store(const Error& error);

/// Options that several commands share.
struct CommonOptions {
    std::string settings;              ///< a settings file beside the usual ones; "" for none
    std::optional<std::string> store;  ///< overrides the settings' store
    std::uint64_t seed = 0;
    bool has_seed = false;
    bool headless = false, fast = false, json = false;
    std::string capture;   ///< "" for none
    bool tonight = false;  ///< never typed: the store is an evening's own file (consent/tonight_store.hpp)
};

struct DrillOptions {
    CommonOptions common;
    std::string drill;    ///< name or file
    std::string rig;      ///< port, "simulated", or "" to find one
    std::string athlete;  ///< call-sign
    std::string partner;  ///< call-sign of whoever kicks, in a drill with a partner
    double pace_limit_minutes = 120;
};

struct PairsCommand {
    CommonOptions common;
    std::string drill;
    PairsOptions options;
    std::vector<std::string> athletes;  ///< two for each pair, by where they stand; empty: places alone
};

struct OpponentOptions {
    CommonOptions common;
    std::string call_sign;   ///< copy: the partner
    std::string name;        ///< copy: of the opponent; "": "copy-of-" and the call-sign
    bool overwrite = false;  ///< copy: a file of that name gives way, whatever it is
    bool simulated = false;  ///< copy: the partner is invented, and nobody is to be asked
};

int list_opponents_there_are(const OpponentOptions& options);
int copy_partner(const OpponentOptions& options);

struct RigOptions {
    CommonOptions common;
    std::string port;    ///< "" to find one
    double seconds = 0;  ///< watch: 0 until stopped
};

/// The coach's pages in a browser.
struct DeskOptions {
    bool open = false, hall = false;  ///< hall: to the local network, by TLS; else this computer alone
    std::uint16_t port = 8080;        ///< 0: any that is free
};

struct EveningOptions {
    RigOptions rig;      ///< port "simulated": a simulated rig, and whoever is called walks up
    std::string group;   ///< "" for all
    std::string plan;    ///< a file; "" for the usual one
    double minutes = 0;  ///< of the whole plan; 0: as it says
    DeskOptions desk;
};

struct SimulateRigArguments {
    std::string athlete;
    std::uint64_t seed = 1;
    double drift_ppm = 40;
    double damage = 0;
    double reset_after_seconds = 0;
    double minutes = 0;
};

int run_demo(const CommonOptions& options);
/// The first `weeks` (1 to 10) of an invented term, in a new store.
int run_demo_term(const CommonOptions& options, int weeks);
/// A whole invented term into a new store, without a word but its progress.
[[nodiscard]] Expected<void> make_term_store(const std::filesystem::path& file);
int run_drill(const DrillOptions& options);
int run_pairs(const PairsCommand& given);
int list_drills(const CommonOptions& options);
/// What is wrong with a drill's file, the minutes it takes, for whom it is too much.
int check_drill(const CommonOptions& options, const std::string& file);
/// The same of a drill that was read, in lines.
[[nodiscard]] std::string words_of_check(const Drill& drill);
int list_rigs(const RigOptions& options);
int check_rig(const RigOptions& options);
int watch_rig(const RigOptions& options);
int calibrate_rig(const RigOptions& options);
int run_evening(const EveningOptions& options);
int simulate_rig(const SimulateRigArguments& arguments);
int rescore(const CommonOptions& options, const std::string& session);
int replay(const CommonOptions& options, const std::string& capture);
/// `size` of the stage's pictures; pages have their own.
int make_pictures(const std::string& directory, StageSize size);

}  // namespace breakstep
