// What the keeping commands share: opening the store, finding an athlete, writing a file. Internal to this folder.
#pragma once

#include <functional>
#include <iosfwd>
#include <memory>
#include <string>

#include "cli/athletes/keeping.hpp"
#include "store/store.hpp"

namespace breakstep {

/// Opens the store for reading, or for writing, and runs `work` with it; complains and gives the exit code if it can't.
int with_store(const CommonOptions& options, StoreMode mode, const std::function<int(Store&)>& work);
/// The same for what is done to somebody in it: where there is no store, none is made.
int with_store_there(const CommonOptions& options, StoreMode mode, const std::function<int(Store&)>& work);
/// The same, once it was seen to be whole, for reading.
int with_whole_store(const CommonOptions& options, const std::function<int(Store&)>& work);

/// The same for reading results, after a look at whether the store is what was written; a club's server too.
int with_kept(const CommonOptions& options, const std::function<int(const Kept&)>& work);

/// One line each on stderr for those whose results are left out: why, and how that is changed. At most a dozen.
void tell_left_out(const std::vector<Athlete>& left_out, const std::string& today);

/// Writes to stdout ("-" or ""), or to a file that its owner alone may read. Fails (bad_input) if the file is there and
/// may not be overwritten, or is a store, a folder or a device. A file that is there stays until the new one is whole.
[[nodiscard]] Expected<void> write_out(const std::string& file, bool overwrite,
                                       const std::function<Expected<void>(std::ostream&)>& write);

}  // namespace breakstep
