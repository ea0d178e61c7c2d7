// "Could you time them?", as partners answered after sets: kept in the desk's folder beside the store, a line a set, by
// the session's id alone. A session that is gone (an athlete was erased) takes its lines with it at the next answer.
//
// Any one thread at a time. Fails as files and store do.
#pragma once

#include <filesystem>
#include <string>

#include "desk/house.hpp"
#include "store/store.hpp"

namespace breakstep {

/// Keeps one answer; another one of the same set takes its place.
[[nodiscard]] Expected<void> keep_felt(const std::filesystem::path& folder, const Store& store,
                                       const desk::FeltInSet& felt);
/// How often people and figures agree: a set of a session whose sign is a tell goes with "yes", a hunch with "a
/// little", none with "no". "" before the first answer.
[[nodiscard]] Expected<std::string> felt_and_figures(const std::filesystem::path& folder, const Store& store);

}  // namespace breakstep
