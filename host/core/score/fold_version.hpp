// Which results the fold gives: results that are kept or shared say which version made them. Raised by whoever changes
// what the same journal scores as.
#pragma once

#include <cstdint>

namespace breakstep {

inline constexpr std::int32_t fold_version = 1;

}  // namespace breakstep
