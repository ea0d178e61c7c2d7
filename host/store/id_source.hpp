// New ids of athletes and sessions. One thread; cannot fail.
#pragma once

#include <cstdint>
#include <optional>

#include "core/random.hpp"

namespace breakstep {

/// Ids are drawn from the seed where results must be the same each time, else from the system. Never 0.
class IdSource {
  public:
    explicit IdSource(std::optional<std::uint64_t> seed);
    [[nodiscard]] std::uint64_t next();

  private:
    Random random_;
};

}  // namespace breakstep
