// What the keeping commands share: opening the store, finding an athlete, writing a file. Internal to this folder.
#pragma once

#include <functional>
#include <iosfwd>
#include <memory>
#include <string>

#include "app/commands/athletes/keeping.hpp"
#include "store/store.hpp"

namespace breakstep {

/// Opens the store for reading, or for writing, and runs `work` with it; complains and gives the exit code if it can't.
int with_store(const CommonOptions& options, StoreMode mode, const std::function<int(Store&)>& work);

/// The same for reading results, after a look at whether the store is what was written.
int with_whole_store(const CommonOptions& options, const std::function<int(Store&)>& work);

/// By call-sign, else by id in 16 hexadecimal digits; fails (not_found) naming who is there.
[[nodiscard]] Expected<Athlete> athlete_typed(const Store& store, const std::string& typed);
[[nodiscard]] std::string id_text(AthleteId id);
/// The call-sign, or the id of an athlete who has none.
[[nodiscard]] std::string shown(const Athlete& athlete);

/// "1 session", "2 sessions"
[[nodiscard]] std::string count_of(std::int64_t count, const char* what);

/// The local date of a moment, ISO.
[[nodiscard]] std::string local_date(std::int64_t unix_seconds);

/// Writes to stdout ("-" or ""), or to a file that its owner alone may read. Fails (bad_input) if the file is there and
/// may not be overwritten, or is a store, a folder or a device. A file that is there stays until the new one is whole.
[[nodiscard]] Expected<void> write_out(const std::string& file, bool overwrite,
                                       const std::function<Expected<void>(std::ostream&)>& write);

}  // namespace breakstep
