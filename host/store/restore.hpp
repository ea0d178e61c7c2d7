// Bringing a store back from a backup, and looking into other copies of a store.
//
// The main thread's, while no Store of that path is open in this process. Failures: not_found (no such backup); in_use
// (the store is being written); bad_input (the backup is no store, or is the store itself); damaged; incompatible (made
// by a newer breakstep); no_space; system. Whatever fails, the store in place stays in place, and the backup is never
// written to. However the program or the disk ends meanwhile, the store's name stands for the old store, with all that
// its write-ahead log holds, or for the new one.
#pragma once

#include <cstdint>
#include <filesystem>
#include <vector>

#include "store/store.hpp"

namespace breakstep {

struct Restored {
    std::filesystem::path replaced;  ///< where the store that stood there is kept; empty if there was none
    std::int64_t athletes = 0, sessions = 0, measures = 0;  ///< in the store as it is now
};

/// Copies the backup beside the store, brings the copy up to date, reads all of it, and only then puts it in the
/// store's place. The store that stood there is kept beside under a name with `now`'s date. What is no breakstep store
/// is never replaced, a damaged one only with `even_damaged`.
[[nodiscard]] Expected<Restored> restore_store(const std::filesystem::path& backup, const std::filesystem::path& store,
                                               std::int64_t now_unix_seconds, bool even_damaged = false);

/// A copy of a store in which an athlete still stands.
struct CopyHolding {
    std::filesystem::path path;
    std::int64_t sessions = 0;  ///< the athlete's, in that copy
};
struct OtherCopies {
    std::vector<CopyHolding> holding;
    std::vector<std::filesystem::path> unseen;  ///< noted as backups, but not to be found or read now
    /// By their logs they hold the athlete no more; what the file below the log holds nobody knows. An erasure of such
    /// a copy was cut off.
    std::vector<std::filesystem::path> with_log;
};
/// Looks into every backup that was noted, and every other store in the same folder. Changes none.
[[nodiscard]] Expected<OtherCopies> copies_that_hold(const Store& store, AthleteId athlete);

}  // namespace breakstep
