// The commands that keep, bring in, hand out and erase: athletes, import, export, backup, restore. command_line.cpp
// turns what was typed into these options; the manners and the exit codes are those of commands.hpp. Main thread.
#pragma once

#include <optional>
#include <string>

#include "cli/commands.hpp"
#include "club/athletes/typed_athlete.hpp"

namespace breakstep {

struct KeepingOptions {
    CommonOptions common;
    std::string call_sign;  ///< the athlete in question; or an id in 16 hexadecimal digits
    std::string other;      ///< join: the one that is the same athlete, and goes
    TypedAthlete typed;
    std::string file;            ///< "-" for stdin or stdout, "" for none
    std::string table = "reps";  ///< export: reps, sessions or measures
    bool yes = false;            ///< erase: meant
    bool overwrite = false;      ///< an exported file may take an older one's place
    bool even_damaged = false;   ///< restore: the store whose place is taken may be damaged
    bool dictionary = false;     ///< export: what the columns mean, instead of data
    bool with_names = false;     ///< export, export-list: real names and notes too
    bool subtitles = false;      ///< export: reps by their time from the opening flash, for a video of the hall
    std::string of;              ///< subtitles: a session, or a day; "" for the last evening
};

int list_athletes(const KeepingOptions& options);
int add_athlete(const KeepingOptions& options);
int change_athlete(const KeepingOptions& options);
int join_athletes(const KeepingOptions& options);
int erase_athlete(const KeepingOptions& options);
int import_athletes(const KeepingOptions& options);
int export_athletes(const KeepingOptions& options);
int import_measures(const KeepingOptions& options);
int export_results(const KeepingOptions& options);
int back_up(const KeepingOptions& options);
int restore(const KeepingOptions& options);
int check_store(const KeepingOptions& options);
int rescue(const KeepingOptions& options);

}  // namespace breakstep
