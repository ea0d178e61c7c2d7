// Which results the fold gives: results that are kept or shared say which version made them. Raised by whoever changes
// what the same journal scores as. 2: what is asked beside the strike, the level, what drew an attack, where the
// athlete stood. 3: the edge; a partner who does another thing than they were asked is answered by what came.
#pragma once

#include <cstdint>

namespace breakstep {

inline constexpr std::int32_t fold_version = 3;

}  // namespace breakstep
