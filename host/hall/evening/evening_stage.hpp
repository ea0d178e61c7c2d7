// What the stage shows of an evening beside what a running session shows of itself. Pure; called on the engine's
// thread.
#pragma once

#include <string>

#include "devices/stage/stage_view.hpp"
#include "hall/evening/evening_view.hpp"

namespace breakstep {

/// While no session runs: who is next and who follows; in a block of the hall, its clock.
[[nodiscard]] StageView between_turns(const EveningView& evening, const std::string& club, HostTime now);

/// Puts into a session's picture what only the evening knows: who is next, how to get on, the legend where nothing
/// plays.
void decorate(StageView& view, const EveningView& evening, const std::string& legend);

}  // namespace breakstep
