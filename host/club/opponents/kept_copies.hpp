// The copies of partners that stand in the folder of one's own opponents, and which of them may not be played any more:
// a copy lives as long as the yes it was made with.
//
// Main thread. Only plain files that bear our mark are looked at. Fails (system) where a file can't be deleted.
#pragma once

#include <filesystem>
#include <functional>
#include <string>
#include <vector>

#include "core/error.hpp"
#include "store/kept.hpp"

namespace breakstep {

struct KeptCopy {
    std::filesystem::path path;
    std::string opponent;  ///< what drills call it
    AthleteId partner{};
    std::string until{};  ///< the day the yes ends; "": not said
};

/// By name; none where there is no such folder.
[[nodiscard]] std::vector<KeptCopy> kept_copies();

/// Deletes those of which `gone` is true, and gives them.
[[nodiscard]] Expected<std::vector<KeptCopy>> delete_copies(const std::function<bool(const KeptCopy&)>& gone);

/// Deletes those whose yes ended by their own word; and of athletes of the store those who said no, whose yes ended, or
/// who say nothing any more (unless `nobody` says that the call-sign is an invented one's).
[[nodiscard]] Expected<std::vector<KeptCopy>> delete_copies_without_consent(
    const std::vector<Athlete>& athletes, std::string_view today,
    const std::function<bool(const std::string& call_sign)>& nobody);

}  // namespace breakstep
