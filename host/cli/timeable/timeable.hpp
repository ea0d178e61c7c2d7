// The commands `timeable` and `tap`: can this rhythm be timed? For a coach with a stopwatch or a video, and for anyone
// who wants to check the reading of a drill.
//
// Main thread; they return the exit code (0 done, 2 what was typed or the list can't be used, 1 the system said no) and
// print results to `out`, everything else to `err`. Memory is bounded however long the list.
#pragma once

#include <iosfwd>
#include <span>
#include <string>

namespace breakstep {

/// `arguments` are those after the word `timeable`. `in` is read where the file is "-".
[[nodiscard]] int run_timeable(std::span<const std::string> arguments, std::istream& in, std::ostream& out,
                               std::ostream& err);

/// `arguments` are those after the word `tap`. Reads the keyboard of the terminal that is stdin; says so if there is
/// none.
[[nodiscard]] int run_tap(std::span<const std::string> arguments, std::ostream& out, std::ostream& err);

}  // namespace breakstep
