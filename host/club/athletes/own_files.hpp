// The reports and captures that breakstep put somewhere from a store, and of whom they are: for erasing an athlete.
//
// Only plain files that bear our mark are looked at, in the folders that the store has noted, in `reports` beside it,
// in `reports` here and where a person's own opponents stand. Nothing is changed. Main thread.
#pragma once

#include <filesystem>
#include <vector>

#include "store/store.hpp"

namespace breakstep {

struct OwnFiles {
    std::vector<std::filesystem::path> alone;    ///< of this athlete and nobody else
    std::vector<std::filesystem::path> perhaps;  ///< that show others, too, or don't say whom
    std::vector<std::filesystem::path> unseen;   ///< noted folders that can't be looked into now
};

/// Those that hold something of the athlete. Fails (system) if the disk does not give a file: it may be one of them.
[[nodiscard]] Expected<OwnFiles> own_files_of(const Store& store, const Athlete& athlete);

}  // namespace breakstep
