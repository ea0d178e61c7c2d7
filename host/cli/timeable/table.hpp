// The table of false tells and power on invented athletes, as Markdown. Main thread.
#pragma once

#include <cstdint>
#include <iosfwd>

namespace breakstep::timeable {

/// `drills` of each family; the same seed gives the same table. Progress goes to `err`.
void print_table(std::ostream& out, std::ostream& err, std::uint64_t drills, std::uint64_t seed);

}  // namespace breakstep::timeable
