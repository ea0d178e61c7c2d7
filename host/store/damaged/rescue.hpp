// Saving what is whole in a damaged store, its header, its roots or its end gone even, into a new one.
//
// The main thread's, while no Store of either path is open in this process. The damaged store is never written to.
// Failures: not_found; in_use (the damaged store is being written); bad_input (nothing of a store is found in the file,
// or the new file is there already); incompatible (made by a newer breakstep); no_space; system. After a failure there
// is no new file.
//
// What whole means: rows whose lengths, kinds and words fit; of a session's journal, its beginning up to the first
// record that is missing or can't be decoded. A changed digit inside a number is seen where the session or the table
// has a sum (sums.hpp), and told; what is saved is what was found.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "core/error.hpp"

namespace breakstep {

struct Rescued {
    std::int64_t athletes = 0, sessions = 0, reps = 0, records = 0, measures = 0;  ///< in the new store
    std::int64_t athletes_without_row = 0;   ///< of these: all but the call-sign is lost, or that too
    std::int64_t sessions_rebuilt = 0;       ///< of these: their row was lost, their first record says it all
    std::vector<std::int64_t> journals_cut;  ///< numbers of sessions whose journal lacks its end or all of it
    /// Sessions (by number) of which the record or the totals, or the reps, are not what their sums say: bytes changed
    /// inside rows, or rows are missing. What was found is saved.
    std::vector<std::int64_t> sessions_changed, results_changed;
    std::vector<std::string> tables_changed;  ///< the same of the lists of athletes, measures and calibrations
    std::int64_t reps_missing = 0;            ///< that the sessions' totals count
    std::int64_t numbers_missing = 0;         ///< session numbers that stand for none: lost, or of erased athletes
    std::int64_t rows_dropped = 0;            ///< found, but unusable, repeated, or of a session nobody knows
    std::int64_t rows_unreadable = 0;         ///< in pages that hold rows
    [[nodiscard]] bool whole() const {
        return athletes_without_row == 0 && sessions_rebuilt == 0 && journals_cut.empty() && reps_missing == 0 &&
               rows_dropped == 0 && rows_unreadable == 0 && sessions_changed.empty() && results_changed.empty() &&
               tables_changed.empty();
    }
};

/// `now_unix_seconds` dates the note in the new store that the damaged one still holds the same data.
[[nodiscard]] Expected<Rescued> rescue_store(const std::filesystem::path& damaged, const std::filesystem::path& fresh,
                                             std::int64_t now_unix_seconds);

}  // namespace breakstep
