// One line about a turn for the coach, as it ends. The athlete's own line stands on the stage (hall/scene/task_view).
// Pure; any thread; cannot fail.
#pragma once

#include <string>

#include "club/results/results.hpp"

namespace breakstep {

/// "Heron: 7 of 10 on time; mostly clash (2); 1 of 3 feints taken; can be timed: same beat, 0.82 s".
[[nodiscard]] std::string line_for_coach(const SessionResults& session);

}  // namespace breakstep
