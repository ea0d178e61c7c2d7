// What was typed, made into a command and run. Main thread; returns the exit code.
#pragma once

namespace breakstep {

[[nodiscard]] int run_command_line(int argument_count, char** arguments);

}  // namespace breakstep
