// An athlete erased for good: out of the store, its own copies, and the pages and captures that are the athlete's
// alone; what else holds the athlete is named.
//
// Main thread. Fails as the store and the files do: then the store still knows the athlete, and the same call again
// finds what is left.
#pragma once

#include <cstdint>
#include <filesystem>
#include <vector>

#include "club/athletes/own_files.hpp"
#include "store/restore.hpp"
#include "store/store.hpp"

namespace breakstep {

/// What the store holds of the athlete, and where else something is: counted before, and kept for the words after.
struct Erasing {
    Athlete athlete;
    std::int64_t sessions = 0, reps = 0, measures = 0;
    OtherCopies copies;
    std::vector<std::filesystem::path> also_erased_from;  ///< stores that a restore had put aside, daily backups
    OwnFiles files;                                       ///< those of the athlete alone are deleted
};
[[nodiscard]] Expected<Erasing> what_erasing_takes(const Store& store, const Athlete& athlete);

/// Does it; `erasing` says afterwards what was found in copies.
[[nodiscard]] Expected<void> erase(Store& store, Erasing& erasing);

}  // namespace breakstep
