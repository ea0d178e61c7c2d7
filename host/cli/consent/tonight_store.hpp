// What is said when an evening's own file goes (club/consent/tonight.hpp). Main thread; what fails is said on stderr.
#pragma once

#include <filesystem>

#include "club/consent/tonight.hpp"

namespace breakstep {

/// At the start of whatever uses the store: an evening's file that is over goes, and that is said on stderr.
void clear_last_evening(const std::filesystem::path& store);

/// At the evening's end: says whose results were the evening's only, and removes them.
void end_tonight(const std::filesystem::path& store);

}  // namespace breakstep
