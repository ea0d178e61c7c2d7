// How a whole drill is read. A journal names its method, so that it reads the same for ever; one that names none was
// read by the plain one.
//
//   plain      one wealth for everything, W = .30 entry + .20 out + .10 in + .16 retreat (T) + .06 each of depth (T),
//              side, pad, moment (U); the plain bet.
//   two_signs  what can be timed (tempo: .50 entry + .33 out + .17 in) and what can be read (choices: .30 retreat (T)
//              + .10 depth (I) + .20 each of side, pad, moment (T)) apart, a promise of 1 in 20 each; the tight bet;
//              from gates no out-time under the 250 ms that tell two passes apart is held to be possible.
//
// What a method is never changes: a better one gets a name of its own. Values; any thread; cannot fail.
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>

#include "core/reading/accounts.hpp"

namespace breakstep::reading {

enum class ReadingMethod : std::uint8_t { plain, two_signs };

/// As a journal names it: "" for the plain one, "two signs".
[[nodiscard]] std::string_view word(ReadingMethod);
/// nullopt: no method of this version has that name.
[[nodiscard]] std::optional<ReadingMethod> reading_method_from(std::string_view name);
/// The bet that its clocks lay.
[[nodiscard]] TempoMethod bet_of(ReadingMethod);

}  // namespace breakstep::reading
