// An athlete who knows the test: before each interval it looks at the bets and takes, of the laws that count as
// unpredictable, the one that pays them best on average. It shows how far false tells can go inside the null.
// Candidates: memoryless after the shortest interval at any pace, lognormals of CV 50 % around any median, and ln D
// spread evenly over 1 / 0.845 anywhere.
//
// One drill, one adversary; one thread; fixed memory; cannot fail.
#pragma once

#include <cstdint>

#include "core/random.hpp"
#include "core/reading/tempo_test.hpp"

namespace breakstep::reading {

class Adversary {
  public:
    Adversary(std::uint64_t seed, std::uint64_t drill);

    /// The next interval in seconds; `test` has an open interval whose shortest is `shortest_entry_seconds`.
    [[nodiscard]] double next(const TempoTest& test);

  private:
    Random random_;
};

}  // namespace breakstep::reading
