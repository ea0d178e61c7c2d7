// Before anybody is played: copies of partners whose yes has ended are deleted, and it is said.
#pragma once

#include "cli/commands.hpp"
#include "settings/settings.hpp"

namespace breakstep {

/// Looks into the store, where there is one, only if there is a copy. Says on stderr what went, and what could not.
void forget_copies(const CommonOptions& options, const Settings& settings);

}  // namespace breakstep
