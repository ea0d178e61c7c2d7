// What a drill asks for in one sentence, for the stage: when to strike, and what the athlete does about it, before and
// after: draw the attack out, set a beat, leave, step off. Read from four metres: at most 60 letters. Pure; any thread;
// cannot fail.
#pragma once

#include <string>

#include "core/trade/drill.hpp"
#include "devices/stage/stage_view.hpp"

namespace breakstep {

/// Of a task whose moments, leans and kind are filled in.
[[nodiscard]] std::string task_words(const Drill& drill, const StageTask& task);

}  // namespace breakstep
