// Counts this program's heap allocations, so that a test can claim that a piece of code makes none. allocations.cpp
// replaces the global operator new. One thread.
#pragma once

#include <cstdint>

namespace breakstep::test {

/// Since the program began.
[[nodiscard]] std::uint64_t allocations();

}  // namespace breakstep::test
